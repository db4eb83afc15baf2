"""The bars of what was in band, out or unknown, and the key to the patterns."""

from collections.abc import Mapping

from cabapp.review import pen
from cabapp.review.digits import percent_text
from cabapp.review.phrases import STATE_WORDS, WORDS
from cabapp.review.sums import STATES, THINGS, Share


def shares_svg(shares: Mapping[str, Share]) -> str:
    """A bar and its five figures for each judged thing."""
    body = [pen.text(x, 12, words, 10, "end") for x, words in _share_heads()]
    words = []
    for n, thing in enumerate(THINGS):
        share, y = shares[thing], 20 + 26 * n
        bold = thing == "all"
        body.append(pen.text(0, y + 14, WORDS[thing], 12, bold=bold))
        percents = share.percents()
        if percents is None:
            body.append(pen.rect(62, y, 168, 18, "#FFFFFF"))
            body.append(pen.text(72, y + 13, "not judged in this shift", 10))
            words.append(f"{WORDS[thing]} not judged")
            continue
        x = 62.0
        for state in STATES:
            wide = 168 * (share.ratio(state) or 0.0)
            if wide > 0:
                body.append(pen.rect(x, y, wide, 18, pen.FILLS[state]))
            x += wide
        for (at, _), state in zip(_share_heads(), STATES, strict=True):
            body.append(pen.text(at, y + 14, percent_text(share, state), 12, "end", state == "in"))
        told = ", ".join(f"{percents[state]} {STATE_WORDS[state]}" for state in STATES)
        words.append(f"{WORDS[thing]}: {told}")
    return pen.svg(420, 152, "Shares of the judged area, per cent", "; ".join(words), body)


def _share_heads() -> tuple[tuple[float, str], ...]:
    return ((264, "in"), (300, "out"), (346, "raised"), (384, "slow"), (420, "?"))


def legend_svg() -> str:
    """What each pattern means."""
    body, x = [], 0.0
    for state, words in (*STATE_WORDS.items(), ("idle", "worked, not judged")):
        body += [pen.rect(x + 0.5, 1, 22, 11, pen.FILLS[state]), pen.text(x + 27, 11, words, 10.5)]
        x += 27 + 5.6 * len(words) + 16
    return pen.svg(x, 14, "Key to the patterns", ", ".join(STATE_WORDS.values()), body)
