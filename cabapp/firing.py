"""The words of an alert that is fired on the bench: its first wording, with invented figures.

Every alert can be fired, whatever is fitted and whatever is read at the time: what is tried is
whether it is seen and heard, and told from the others.
"""

from cabapp.words import SAYINGS, Rule, Said, say

FIGURES = {
    "shank": 3,
    "percent": 19,
    "speed": "7",
    "advice": "Deeper 1 in",
    "half_step": "1/2 in",
    "next_step": "Check cable 2",
    "distance": "60 m",
    "kind": "Pipe",
    "angle": 8,
    "number": 5,
    "sensor": 2,
}
FIRST: dict[Rule, str] = {}
for _rule, _variant in SAYINGS:
    FIRST.setdefault(_rule, _variant)


def fired(rule: Rule) -> Said:
    """What is shown of a rule on the bench."""
    return say(rule, FIRST[rule], **FIGURES)
