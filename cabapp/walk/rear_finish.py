"""Step 7: levelling discs fill the shank paths; basket or harrow by moisture and what follows."""

from cabapp.rig import FinishKind
from cabapp.units import INCH_M
from cabapp.walk.entries import Answers
from cabapp.walk.findings import About, Finding, Verdict, length_words

# Highest ridge left for what follows: common practice; a ridge may stand over winter.
RIDGE_M = {"winter": 6 * INCH_M, "secondary": 4 * INCH_M, "drill": 2 * INCH_M}
ASKS = {"paths": "shank paths", "ridge": "highest ridge", "follows": "what follows",
        "sticks": "soil on the basket", "finish_now": "basket or harrow now"}  # fmt: skip


def rear_finish(answers: Answers, about: About) -> Finding:
    """Paths first, then ridges, then the finish; one change, with its reason."""
    missing = tuple(
        words for key, words in ASKS.items()
        if answers.entry(key) is None and not (key in ("sticks", "finish_now") and _bare(about))
    )  # fmt: skip
    ridge = answers.value("ridge")
    if missing or ridge is None:
        return Finding(Verdict.OPEN, f"Still open: {missing[0]}", missing=missing,
                       cautions=("raised", "thrown"))  # fmt: skip
    allowed = RIDGE_M[answers.choice("follows")]
    sums = (f"Ridge {length_words(ridge, about.system)}, at most "
            f"{length_words(allowed, about.system)} for what follows",)  # fmt: skip
    headline, detail = _change(answers, ridge - allowed, about)
    cautions = ("leave_seat", "raised", "thrown")
    values = {"ridge": ridge, "allowed_ridge": allowed}
    if headline:
        return Finding(Verdict.ADJUST, headline, detail, sums, ("another look",), cautions,
                       "rear_finish", values, summary="adjust")  # fmt: skip
    return Finding(Verdict.PASS, "Paths filled, level enough", _why(answers, about), sums, (), (),
                   values=values, summary=length_words(ridge, about.system))  # fmt: skip


def _bare(about: About) -> bool:
    return about.rig.tool.finish is FinishKind.NONE


def _change(answers: Answers, over_m: float, about: About) -> tuple[str, str]:
    bit = length_words(INCH_M / 2, about.system)
    if answers.choice("paths") == "low":
        return f"Lower the levelling discs {bit}", "They bring too little soil into the paths."
    if answers.choice("paths") == "ridged":
        return f"Raise the levelling discs {bit}", "They pile soil over the paths."
    wanted, why = wanted_finish(answers, about)
    if wanted and answers.choice("finish_now") != wanted:
        name = "harrow" if about.rig.tool.finish is FinishKind.HARROW else "basket"
        verbs = {"pressing": f"Press the {name} down", "floating": f"Let the {name} float",
                 "lifted": f"Lift the {name} and lock it up"}  # fmt: skip
        return verbs[wanted], why
    if over_m > 0:
        return f"Lower the levelling discs {bit}", "Then look at the ridge again before more."
    return "", ""


def wanted_finish(answers: Answers, about: About) -> tuple[str, str]:
    """How the basket or harrow should run, and why; "" where none is fitted."""
    if _bare(about):
        return "", ""
    wet = (pull := about.findings.get("will_it_pull")) is not None and (
        pull.verdict is Verdict.CAUTION and "wet" in pull.headline
    )
    if answers.choice("sticks") == "plugged":
        return "lifted", "It plugs: a plugged basket drags soil. Try again when it is drier."
    if answers.choice("sticks") == "some" or wet:
        return "floating", "Moist soil: pressing would smear and build up."
    if answers.choice("follows") == "winter":
        return "floating", "Nothing follows till spring: rough ground takes the rain."
    return "pressing", "Dry and clean: pressing breaks the clods for what follows."


def _why(answers: Answers, about: About) -> str:
    return wanted_finish(answers, about)[1]
