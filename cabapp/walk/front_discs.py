"""Step 6: the front discs deep enough to cut the straw, and throwing even."""

from cabapp.trade.depth import DISC_DEPTH_M
from cabapp.units import INCH_M
from cabapp.walk.entries import Answers
from cabapp.walk.findings import About, Finding, Verdict, length_figure, length_words

EVEN_M = 0.75 * INCH_M  # ends of a gang farther apart than this hang crooked; our own default
ASKS = {"depth_left": "depth left", "depth_right": "depth right", "residue": "the straw",
        "throw": "the soil they throw"}  # fmt: skip


def front_discs(answers: Answers, about: About) -> Finding:
    """One change at a time: level the gang, then depth for the straw, then the throw."""
    if about.rig.tool.front_gangs == 0:
        return Finding(Verdict.PASS, "This tool has no front discs", summary="none fitted")
    missing = tuple(words for key, words in ASKS.items() if answers.entry(key) is None)
    left, right = answers.value("depth_left"), answers.value("depth_right")
    if left is None or right is None or missing:
        return Finding(Verdict.OPEN, f"Still open: {missing[0]}", missing=missing,
                       cautions=("raised", "points"))  # fmt: skip
    system = about.system
    mean = (left + right) / 2
    least, most = DISC_DEPTH_M
    band = f"{length_figure(least, system)} to {length_words(most, system)}"
    sums = (f"Left {length_figure(left, system)}, right {length_figure(right, system)}: mean "
            f"{length_words(mean, system)}; common practice {band}",)  # fmt: skip
    headline, detail = _change(left, right, mean, answers, about)
    values = {"disc_depth": mean}
    if headline:
        return Finding(Verdict.ADJUST, headline, detail, sums, ("another look",),
                       ("raised", "points"), "front_discs", values,
                       summary=f"{length_words(mean, system)}, adjust")  # fmt: skip
    bunched = answers.choice("residue") == "bunched"
    return Finding(
        Verdict.CAUTION if bunched else Verdict.PASS,
        "Deep enough; wait for dry straw" if bunched else "Cutting and mixing: leave them",
        "Straw too damp to cut bunches at any depth." if bunched else "", sums, (),
        ("leave_seat",) if bunched else (), values=values, summary=length_words(mean, system),
    )  # fmt: skip


def _change(
    left: float, right: float, mean: float, answers: Answers, about: About
) -> tuple[str, str]:
    system = about.system
    least, most = DISC_DEPTH_M
    bit = length_words(INCH_M / 2, system)
    if abs(left - right) > EVEN_M:
        deep = "left" if left > right else "right"
        return (f"Raise the {deep} end of the front discs "
                f"{length_words(abs(left - right), system)}",
                "A gang that hangs crooked throws to one side.")  # fmt: skip
    if mean > most:
        return (f"Raise the front discs {length_words(mean - most, system)}",
                "Deeper only costs power and throws soil.")  # fmt: skip
    if mean < least:
        return (f"Lower the front discs {length_words(least - mean, system)}",
                "Too shallow to cut straw.")  # fmt: skip
    if answers.choice("residue") in ("pushed", "bunched") and mean < most - INCH_M / 2:
        return (
            f"Lower the front discs {bit}",
            "Straw that is pushed in and not cut plugs the shanks.",
        )
    if answers.choice("throw") == "centre":
        return f"Raise the front discs {bit}", "They throw too far to the middle. Or drive slower."
    if answers.choice("throw") == "ends":
        return f"Raise the end discs {bit}", "The outermost disc leaves the ridge."
    return "", ""
