"""Step 8: judge the ground after a run: it passes, or one step and one adjustment come next."""

from collections.abc import Collection

from cabapp.trade.clods import ALLOWED_OVER_SHARE, LARGEST_CLOD_M, measure_clods
from cabapp.trade.diagnosis import Cause, next_cause
from cabapp.trade.diagnosis_rows import SYMPTOMS
from cabapp.units import INCH_M, MPH_MPS, shown_unit
from cabapp.walk.entries import Answers
from cabapp.walk.findings import About, Finding, Verdict, length_figure, length_words
from cabapp.walk.rear_finish import RIDGE_M
from cabapp.walk.steps import in_units

FRAMES = 3
CLODS = 10  # measured one by one, where somebody wants the finer figure
TRIED = "tried"  # keys of the causes that were tried, by the walk itself
EVEN_M = 0.5 * INCH_M  # front and rear shank agree within this
ASKS = {"ridges": "ridges", "where": "where the ridge is", "slots": "shank slots",
        "residue": "straw", "powder": "crumb", "dug_front": "dug at a front shank",
        "dug_rear": "dug at a rear shank"}  # fmt: skip
# What was answered -> the symptom of the diagnosis table, the gravest first.
SEEN = (
    ("slots", "smear", "smear"),
    ("residue", "bunched", "plugging"),
    ("slots", "ribs", "unbroken_ribs"),
    ("slots", "open", "open_furrows"),
    ("where", "centre", "ridge_centre"),
    ("where", "valley", "valley_centre"),
    ("where", "edge", "ridge_edge"),
    ("where", "waves", "waves"),
    ("powder", "powder", "powder"),
)


def judge(answers: Answers, about: About) -> Finding:
    """Depth first, then clods, then what the eye sees; causes tried before are passed over."""
    missing = _missing(answers)
    tried = tried_causes(answers)
    if missing:
        return Finding(Verdict.OPEN, f"Still open: {missing[0]}", missing=missing,
                       cautions=("leave_seat", "thrown"))  # fmt: skip
    sums = _sums(answers, about)
    values = _values(answers)
    for symptom in _symptoms(answers, about):
        cause = next_cause(SYMPTOM[symptom], tried)
        seen = SYMPTOM[symptom].seen
        if cause is None:
            return Finding(Verdict.CAUTION, "Every usual cause was tried",
                           f"{seen}. See the operator's manual.", sums, (), values=values,
                           summary="see the manual")  # fmt: skip
        return Finding(
            Verdict.ADJUST, f"{cause.change[0].upper()}{cause.change[1:]}{_amount(cause, about)}",
            in_units(f"{cause.why[0].upper()}{cause.why[1:]}. Drive [200 ft|60 m], look again.",
                     about.system), (seen, *sums),
            ("a run after the change",), (_caution(symptom),), cause.step.value, values,
            (cause.why,), "not yet",
        )  # fmt: skip
    return Finding(Verdict.PASS, "Good: this is the pass to keep", "", sums, values=values,
                   summary="passed")  # fmt: skip


SYMPTOM = {symptom.key: symptom for symptom in SYMPTOMS}


def tried_causes(answers: Answers) -> Collection[str]:
    """Causes whose change was made before the ground was looked at anew."""
    looked = max(
        (entry.order for key in answers.answered
         if not key.startswith(TRIED) and (entry := answers.entry(key)) is not None),
        default=-1,
    )  # fmt: skip
    return {
        entry.text for key in answers.answered
        if key.startswith(TRIED) and (entry := answers.entry(key)) is not None
        and entry.order < looked
    }  # fmt: skip


def _caution(symptom: str) -> str:
    return "leave_seat" if symptom == "plugging" else "raised"


def _missing(answers: Answers) -> tuple[str, ...]:
    missing = [
        f"frame {n}"
        for n in range(1, FRAMES + 1)
        if any(answers.value(f"frame{n}_{key}") is None for key in ("largest", "over", "all"))
    ]
    return (*missing, *(words for key, words in ASKS.items() if answers.entry(key) is None))


def _totals(answers: Answers) -> tuple[float, float, float]:
    frames = range(1, FRAMES + 1)
    largest = max(answers.value(f"frame{n}_largest") or 0.0 for n in frames)
    over = sum(answers.value(f"frame{n}_over") or 0.0 for n in frames)
    counted = sum(answers.value(f"frame{n}_all") or 0.0 for n in frames)
    return largest, over, max(counted, over)


def _values(answers: Answers) -> dict[str, float]:
    largest, over, counted = _totals(answers)
    return {"largest": largest, "over_share": over / counted if counted else 0.0,
            "ridges": answers.value("ridges") or 0.0}  # fmt: skip


def _sums(answers: Answers, about: About) -> tuple[str, ...]:
    largest, over, counted = _totals(answers)
    front, rear = answers.value("dug_front") or 0.0, answers.value("dug_rear") or 0.0
    share = f"{100 * over / counted:.0f} %" if counted else "none"
    limit = length_words(LARGEST_CLOD_M, about.system)
    clods = [answers.value(f"clod{n}") for n in answers.numbers("clod", "")]
    measured = [clod for clod in clods if clod is not None]
    finer = measure_clods(measured) if measured else None
    more = () if finer is None else (
        f"{finer.count} clods measured: mean {length_words(finer.mean_m, about.system)}, "
        f"by weight {length_words(finer.mass_weighted_m, about.system)}",
    )  # fmt: skip
    return (
        f"{over:.0f} of {counted:.0f} clods over {limit} = {share}, at most "
        f"{100 * ALLOWED_OVER_SHARE:.0f} %; largest {length_words(largest, about.system)}",
        f"Front {length_figure(front, about.system)}, rear {length_figure(rear, about.system)}: "
        f"{length_words(abs(front - rear), about.system)} apart",
        *more,
    )


def _symptoms(answers: Answers, about: About) -> list[str]:
    """Every symptom that the answers show, the one to mend first in front."""
    found = []
    front, rear = answers.value("dug_front") or 0.0, answers.value("dug_rear") or 0.0
    if abs(front - rear) > EVEN_M + 1e-9:
        found.append("front_deep" if front > rear else "rear_deep")
    target = about.value("shank_depth", "target")
    if target is not None and (front + rear) / 2 < target - INCH_M:
        found.append("drifts_shallow")
    _, over, counted = _totals(answers)
    if counted and over / counted > ALLOWED_OVER_SHARE:
        found.append("big_clods")
    found += [symptom for key, answer, symptom in SEEN if answers.choice(key) == answer]
    follows = about.value("rear_finish", "allowed_ridge")
    ridges = answers.value("ridges") or 0.0
    if ridges > (follows or RIDGE_M["winter"]) and not any(
        "ridge" in s or s == "waves" for s in found
    ):
        found.append("ridge_edge")
    return found


def _amount(cause: Cause, about: About) -> str:
    if cause.by_m is not None:
        return f" {length_words(cause.by_m, about.system)}"
    if cause.by_mps is not None:
        unit = shown_unit("speed", about.system)
        return (
            f" {cause.by_mps / MPH_MPS:g} mph"
            if unit == "mph"
            else f" {cause.by_mps * 3.6:.0f} km/h"
        )
    return ""
