"""How loud the sounds are, kept over a restart as it was signed for in the running cab."""

import json
import logging
import os
from pathlib import Path

from cabapp.codec import from_plain, to_plain
from cabapp.engine.wire import Loudness

LEAST = 0.1  # nothing that was signed for can silence the cab

log = logging.getLogger(__name__)


def usable(loudness: Loudness) -> bool:
    """Whether the two can be meant: heard, the second no softer than the first."""
    return LEAST <= loudness.first <= loudness.stepped <= 1.0


def read_loudness(file: Path) -> Loudness:
    """What was kept; the usual loudness where nothing was, or nothing that can be meant."""
    try:
        kept: Loudness = from_plain(Loudness, json.loads(file.read_text(encoding="utf-8")))
        return kept if usable(kept) else Loudness()
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return Loudness()


def keep_loudness(file: Path, loudness: Loudness) -> None:
    """Replace the file in one step; a storage that refuses is logged, and it holds until then."""
    beside = file.with_suffix(".new")
    try:
        beside.write_text(json.dumps(to_plain(loudness)) + "\n", encoding="utf-8")
        os.replace(beside, file)
    except OSError as error:
        log.error("%s: loudness not kept: %s", file, error)
