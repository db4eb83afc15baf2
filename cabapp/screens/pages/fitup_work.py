"""What the installer's pages work on: the rig file, what was proven, and what the wires say now.

Everything that was done is on disk before the page shows it, each file whole or not at all, so a
power cut loses nothing. No method raises for a disk or a file: it answers with a sentence, "" when
all is well.
"""

import secrets
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from cabapp import codec
from cabapp.engine.home import Home
from cabapp.engine.wire import (
    Loudness,
    Message,
    PortLine,
    Ports,
    RigWritten,
    Samples,
    SamplesWanted,
    Spares,
)
from cabapp.fitup.evidence import EVIDENCE_VERSION, Evidence
from cabapp.fitup.heard import Ears
from cabapp.fitup.pin import PIN_FILE, SALT_BYTES, PinError, PinRecord, make_pin, opens
from cabapp.fitup.session import CalibrationSession, SessionError, from_plain, to_plain
from cabapp.fitup.sheet_html import sheet_html
from cabapp.fitup.signoff import Sheet
from cabapp.fitup.springs import Witness
from cabapp.readings import Sample
from cabapp.record.rigfile import ForeignRig, RigFile
from cabapp.record.safewrite import FileFault, read_json, write_json, write_whole
from cabapp.rig import Rig
from cabapp.rigfault import RigError
from cabapp.units import UnitSystem

FOLDER = "fitup"
ASK_AGAIN_S = 1.5  # without samples for so long the engine may have been started anew

Listener = Callable[[Sample], None]


class Work:
    """One fitting under way; ``home`` is the state folder and ``clock`` monotonic seconds."""

    def __init__(
        self, home: Home, tell: Callable[[Message], None], clock: Callable[[], float]
    ) -> None:
        self.home, self.tell, self.clock = home, tell, clock
        self.file = RigFile(home.rig)
        self.folder = home.root / FOLDER
        self.rig = Rig()
        self.refused = ""
        self.evidence = Evidence()
        self.pin: PinRecord | None = None
        self.loudness = Loudness()
        self.unlocked = False
        self.unsent = False
        self.directions: dict[str, int] = {}
        self.day = date.today().isoformat()
        self.ears = Ears()
        self.ports: tuple[PortLine, ...] = ()
        self.spares = Spares()
        self.listeners: list[Listener] = []
        self._at = 0.0
        self._heard_at = clock()
        self._asked_at = clock() - ASK_AGAIN_S
        self.look_again()

    # -- the disk ----------

    def look_again(self) -> None:
        """Read everything that is kept, as when the page comes to the front."""
        opened = self.file.open()
        self.rig = opened.rig
        self.refused = "" if opened.refused is None else _by_name(opened.refused, self.file.path)
        self.evidence = self._read("evidence.json", Evidence) or Evidence()
        if self.evidence.version != EVIDENCE_VERSION:
            self.evidence = Evidence()
        self.pin = self._read_pin()
        self.loudness = self._read_loudness()
        kept = self._plain(self.folder / "directions.json")
        self.directions = {key: 1 if value == 1 else -1 for key, value in kept.items()}

    def save(self, rig: Rig) -> str:
        """Write the rig file; the engine is told when the pages are left, or by ``send``."""
        try:
            self.file.write(rig)
        except (RigError, FileFault) as error:
            return str(error)
        changed = replace(rig, units=self.rig.units) != self.rig  # units change nothing proven
        self.rig, self.unsent, self.refused = rig, True, ""
        return self._unsign() if changed else ""

    def undo(self) -> str:
        """One step back of the rig file; undone by another."""
        try:
            rig = self.file.undo()
        except (RigError, FileFault) as error:
            return str(error)
        if rig is None:
            return "Nothing to take back: this is the first rig file of this tablet."
        self.rig, self.unsent = rig, True
        return self._unsign()

    def restore(self, path: Path, another: bool = False) -> tuple[str, bool]:
        """Take a copied rig file: a sentence, and whether it is only another machine's."""
        try:
            self.rig = self.file.restore(path, another)
        except ForeignRig as error:
            return _by_name(error, path), True
        except (RigError, FileFault) as error:
            return _by_name(error, path), False
        self.unsent = True
        return self._unsign(), False

    def copy_to(self, folder: Path) -> str:
        """Put the rig file, and the newest signed sheet, on a stick."""
        try:
            text = self.home.rig.read_text(encoding="utf-8")
            write_whole(folder / f"{self.rig.id}.toml", text)
            for sheet in self.sheets()[-1:]:
                write_whole(folder / sheet.name, sheet.read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError, FileFault) as error:
            return str(error)
        return ""

    def sheets(self) -> list[Path]:
        """Signed sheets, oldest first."""
        return sorted(self.folder.glob("sign-off-*.html"))

    def save_sheet(self, sheet: Sheet) -> tuple[str, Path]:
        """Write the sheet as one HTML page of its own number."""
        numbers = [int(path.stem.rpartition("-")[2]) for path in self.sheets()]
        path = self.folder / f"sign-off-{max(numbers, default=0) + 1:04d}.html"
        return self._guarded(lambda: write_whole(path, sheet_html(sheet))), path

    def prove(self, evidence: Evidence) -> str:
        """Keep what was proven; what was signed before it says it no more."""
        signing = evidence.signed_on != self.evidence.signed_on
        if not signing and evidence != self.evidence:
            evidence = replace(evidence, signed_on="")
        fault = self._write("evidence.json", codec.to_plain(evidence))
        if not fault:
            self.evidence = evidence
        return fault

    def _unsign(self) -> str:
        """Another rig file than the one that was signed for; the signed sheet is kept."""
        return self.prove(replace(self.evidence, signed_on="")) if self.evidence.signed_on else ""

    def session(self, channel: str) -> tuple[CalibrationSession | None, str]:
        """A calibration kept on disk, None if there is none; or why it cannot go on."""
        try:
            plain = read_json(self._session_path(channel))
            return (None if plain is None else from_plain(plain)), ""
        except (FileFault, SessionError) as error:
            return None, str(error)

    def keep(self, session: CalibrationSession) -> str:
        """A calibration with one more step."""
        return self._guarded(
            lambda: write_json(self._session_path(session.channel), to_plain(session))
        )

    def drop(self, channel: str) -> str:
        """The calibration was accepted, or begins anew."""
        return _removed(self._session_path(channel))

    def witnesses(self) -> dict[str, Witness]:
        """What was witnessed of the springs so far."""
        plain = self._plain(self.folder / "springs.json")
        try:
            return {key: codec.from_plain(Witness, value) for key, value in plain.items()}
        except (TypeError, ValueError, KeyError):
            return {}

    def keep_witnesses(self, witnesses: dict[str, Witness]) -> str:
        return self._write("springs.json", codec.to_plain(witnesses))

    def keep_direction(self, channel: str, way: int) -> str:
        """Which way a sensor goes, from moving it."""
        self.directions[channel] = way
        return self._write("directions.json", dict(self.directions))

    def forget_wires(self, *channels: str) -> str:
        """What was taken of these by wires that are others now: witnesses, directions, points."""
        witnesses = {k: w for k, w in self.witnesses().items() if k not in channels}
        self.directions = {k: way for k, way in self.directions.items() if k not in channels}
        faults = [self.drop(channel) for channel in channels]
        faults += [self.keep_witnesses(witnesses), self._write("directions.json", self.directions)]
        return "\n".join(filter(None, faults))

    def set_loudness(self, loudness: Loudness) -> str:
        """Tell the speaker, which keeps it; what was heard at another loudness is not proven."""
        self.loudness = loudness
        self.tell(loudness)
        return "" if self.evidence.sound is None else self.prove(replace(self.evidence, sound=None))

    # -- the PIN ----------

    def unlock(self, digits: str) -> bool:
        """Whether these digits open calibration and limits, until the pages are left."""
        self.unlocked = opens(self.pin, digits)
        return self.unlocked

    def set_pin(self, digits: str) -> str:
        """A new PIN, "" to have none."""
        path = self.home.root / PIN_FILE
        if not digits:
            fault = _removed(path)
            self.pin = self.pin if fault else None
            return fault
        try:
            record = make_pin(digits, secrets.token_bytes(SALT_BYTES))
        except PinError as error:
            return str(error).capitalize()
        fault = self._guarded(lambda: write_json(path, codec.to_plain(record)))
        if not fault:
            self.pin, self.unlocked = record, True
        return fault

    # -- the wires ----------

    @property
    def now(self) -> float:
        """The engine's time now, by the newest sample and how long ago it came."""
        return self._at + (self.clock() - self._heard_at)

    def hear(self, message: object) -> bool:
        """Take a message of the engine; True if there is something new to show."""
        if isinstance(message, Ports):
            self.ports = message.ports
            return True
        if isinstance(message, Spares):
            self.spares = message
            return True
        if not isinstance(message, Samples):
            return False
        self._asked_at = self.clock()
        for sample in message.samples:
            self.ears.hear(sample)
            for listener in self.listeners:
                listener(sample)
        if message.samples:
            self._at = max(sample.at for sample in message.samples)
            self._heard_at = self.clock()
        return True

    def want_samples(self) -> None:
        """Ask the engine for what the wires say, again when it was started anew."""
        if self.clock() - self._asked_at >= ASK_AGAIN_S:
            self._asked_at = self.clock()
            self.tell(SamplesWanted(True))

    def send(self) -> None:
        """Tell the engine to go on with the rig as it was written."""
        if self.unsent:
            self.unsent = False
            self.tell(RigWritten())

    def leave(self) -> None:
        """The pages are left: lock again, stop listening, hand the rig over."""
        self.unlocked = False
        self._asked_at = self.clock() - ASK_AGAIN_S
        self.tell(SamplesWanted(False))
        self.send()

    def rig_in(self, units: UnitSystem) -> Rig:
        """The rig with the person's units, for what is said."""
        return replace(self.rig, units=units)

    # -- small things ----------

    def _session_path(self, channel: str) -> Path:
        return self.folder / f"calibrate-{channel}.json"

    def _write(self, name: str, plain: dict[str, Any]) -> str:
        return self._guarded(lambda: write_json(self.folder / name, plain))

    def _guarded(self, write: Callable[[], None]) -> str:
        try:
            write()
        except FileFault as error:
            return str(error)
        return ""

    def _plain(self, path: Path) -> dict[str, Any]:
        try:
            return read_json(path) or {}
        except FileFault:
            return {}

    def _read(self, name: str, kind: type[Any]) -> Any:
        try:
            plain = read_json(self.folder / name)
            return None if plain is None else codec.from_plain(kind, plain)
        except (FileFault, TypeError, ValueError, KeyError):
            return None

    def _read_loudness(self) -> Loudness:
        """As the speaker has kept it, or as usual."""
        try:
            plain = read_json(self.home.loudness)
            return Loudness() if plain is None else codec.from_plain(Loudness, plain)
        except (FileFault, TypeError, ValueError, KeyError):
            return Loudness()

    def _read_pin(self) -> PinRecord | None:
        """The PIN's record; a broken one locks nothing, as one that was taken away."""
        try:
            plain = read_json(self.home.root / PIN_FILE)
            return None if plain is None else codec.from_plain(PinRecord, plain)
        except (FileFault, TypeError, ValueError, KeyError):
            return None


def _removed(path: Path) -> str:
    """Take a file away; a sentence where the disk does not let it go."""
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        return f"{path.name} stays: {error.strerror or error}. Nothing else is lost."
    return ""


def _by_name(error: Exception, path: Path) -> str:
    """A fault with the file's name alone: the folder says nothing to who stands at the tablet."""
    return str(error).replace(f"{path.parent}/", "")
