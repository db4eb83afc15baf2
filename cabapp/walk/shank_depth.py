"""Step 5: the shanks one inch below the layer, reached with this machine's own adjuster."""

from dataclasses import dataclass

from cabapp.trade.depth import (
    Adjuster,
    Advice,
    Dig,
    WrongWay,
    advice_text,
    advise,
    finish_text,
    learn_response,
    target_depth_m,
    with_response,
)
from cabapp.trade.spacing import (
    CriticalVerdict,
    PointKind,
    SpacingVerdict,
    judge_critical_depth,
    judge_spacing,
)
from cabapp.units import INCH_M
from cabapp.walk.entries import Answers
from cabapp.walk.findings import About, Finding, Verdict, length_figure, length_words

CLOSE_ENOUGH_M = 0.5 * INCH_M  # a slot cannot be measured better; our own default
SPREAD_M = 1.0 * INCH_M  # shanks farther apart than this are a matter of level, not of depth
LEAST_SHANKS = 5  # slots to dig, or all of a smaller tool; our own default


@dataclass(frozen=True)
class Round:
    """One round of digging: its number, the slots by shank number, and steps moved before it."""

    number: int
    slots_m: dict[int, float]
    moved: float

    @property
    def mean_m(self) -> float:
        """Mean of the slots dug."""
        return sum(self.slots_m.values()) / len(self.slots_m)

    @property
    def spread_m(self) -> float:
        """Deepest slot less the shallowest."""
        return max(self.slots_m.values()) - min(self.slots_m.values())


def shank_numbers(about: About) -> tuple[int, ...]:
    """The shanks to dig: all up to five, else the outer two, the middle and two between."""
    numbers = [shank.number for shank in about.rig.tool.shanks] or [1, 2, 3]
    if len(numbers) <= LEAST_SHANKS:
        return tuple(numbers)
    last = len(numbers) - 1
    picks = {round(part * last / (LEAST_SHANKS - 1)) for part in range(LEAST_SHANKS)}
    return tuple(numbers[pick] for pick in sorted(picks))


def rounds(answers: Answers, about: About) -> tuple[Round, ...]:
    """The rounds dug so far. A movement left unsaid is the one that was advised."""
    found: list[Round] = []
    target = target_of(answers, about)
    for n in begun_rounds(answers):
        slots = {
            shank: depth
            for shank in shank_numbers(about)
            if (depth := answers.value(f"dig{n}_shank{shank}")) is not None
        }
        if not slots:
            continue
        said = answers.value(f"dig{n}_moved")
        if said is None and found and target is not None:
            said = _advised(found, target, about)
        found.append(Round(n, slots, said or 0.0))
    return tuple(found)


def _advised(dug: list[Round], target_m: float, about: About) -> float:
    """The steps a person was told to move after the last round: none where it passed or was uneven.

    Digs that teach nonsense advise nothing either.
    """
    if dug[-1].spread_m > SPREAD_M + 1e-9 or is_near(dug[-1].mean_m, target_m, adjuster_of(about)):
        return 0.0
    try:
        return advise(adjuster_after(dug, about), dug[-1].mean_m, target_m).moved
    except WrongWay:
        return 0.0


def begun_rounds(answers: Answers) -> tuple[int, ...]:
    """Numbers of the rounds of digging that have any answer, rising."""
    starts = {key.split("_")[0][3:] for key in answers.answered if key.startswith("dig")}
    return tuple(sorted(int(start) for start in starts if start.isdigit()))


def target_of(answers: Answers, about: About) -> float | None:
    """The depth to set: the chosen bottom and the margin, or a depth typed where no layer is."""
    bottom = about.value("hard_layer", "bottom")
    margin = answers.value("margin")
    if bottom is None:
        return answers.value("target")
    return target_depth_m(bottom, INCH_M if margin is None else margin)


def moved_round(answers: Answers, about: About) -> int:
    """The order of the last answer that changed the depth: target, first round, or a movement."""
    orders = [entry.order for key in ("margin", "target") if (entry := answers.entry(key))]
    dug = rounds(answers, about)
    for one in dug:
        if one is dug[0] or one.moved:
            slots = (answers.entry(f"dig{one.number}_shank{n}") for n in one.slots_m)
            orders.append(min(entry.order for entry in slots if entry is not None))
    return max(orders, default=-1)


def adjuster_of(about: About) -> Adjuster:
    """The adjuster as the rig file describes it."""
    return Adjuster.of(about.rig.tool.adjuster)


def adjuster_after(dug: list[Round], about: About) -> Adjuster:
    """The rig's adjuster, taught by the digs so far where they teach anything.

    Raises WrongWay where the digs went the other way than the movements.
    """
    fitted = adjuster_of(about)
    setting, digs = 0.0, []
    for one in dug:
        setting += one.moved
        digs.append(Dig(setting, one.mean_m, fitted.finish if one.moved else None))
    try:
        return with_response(fitted, learn_response(digs))
    except WrongWay:
        raise
    except ValueError:  # fewer than two digs, or moved less than a step: nothing to learn yet
        return fitted


def advice_now(answers: Answers, about: About) -> Advice | None:
    """What to move after the last whole round; None where nothing is to be moved."""
    target, dug = target_of(answers, about), list(rounds(answers, about))
    if target is None or not dug or len(dug[-1].slots_m) < len(shank_numbers(about)):
        return None
    if dug[-1].spread_m > SPREAD_M + 1e-9 or is_near(dug[-1].mean_m, target, adjuster_of(about)):
        return None
    try:
        advice = advise(adjuster_after(dug, about), dug[-1].mean_m, target)
    except WrongWay:
        return None
    return None if advice.direction is None else advice


def is_near(mean_m: float, target_m: float, adjuster: Adjuster) -> bool:
    """Whether a mean depth counts as set: within half an inch, or within half a smallest step."""
    half_step_m = adjuster.smallest * adjuster.step_m / 2
    return abs(mean_m - target_m) <= max(CLOSE_ENOUGH_M, half_step_m) + 1e-9


def shank_depth(answers: Answers, about: About) -> Finding:
    """Target shown as a sum, the last round against it, and the movement in real steps."""
    target = target_of(answers, about)
    system = about.system
    if target is None:
        return Finding(Verdict.OPEN, "First find the hard layer, or type a depth",
                       missing=("a target",), leads_to="hard_layer")  # fmt: skip
    sums = [_target_sum(answers, about, target)]
    values = {"target": target}
    cautions = _line_cautions(target, about)
    notes = (*_spacing_notes(target, about), *_critical_notes(target, answers, about))
    dug = list(rounds(answers, about))
    wanted = shank_numbers(about)
    left = [n for n in wanted if not dug or n not in dug[-1].slots_m]
    if left:
        missing = (f"shanks {', '.join(map(str, left))}",)
        want = f"Want {length_words(target, system)}."
        return Finding(Verdict.OPEN, f"Dig at shank {left[0]}", want, tuple(sums), missing,
                       cautions, "", values, notes)  # fmt: skip
    last = dug[-1]
    spread = last.spread_m
    sums.append(f"Mean of {len(last.slots_m)} slots {length_words(last.mean_m, system)}, "
                f"spread {length_words(spread, system)}")  # fmt: skip
    values |= {"dug": last.mean_m, "rounds": float(len(dug)), "spread": spread}
    if spread > SPREAD_M + 1e-9:
        return _uneven(last, about, tuple(sums), cautions, values, notes)
    return _against_target(dug, target, about, tuple(sums), cautions, values, notes)


def _against_target(
    dug: list[Round], target: float, about: About, sums: tuple[str, ...],
    cautions: tuple[str, ...], values: dict[str, float], notes: tuple[str, ...],
) -> Finding:  # fmt: skip
    system, mean = about.system, dug[-1].mean_m
    words = f"{length_words(mean, system)}, want {length_figure(target, system)}"
    if is_near(mean, target, adjuster_of(about)):
        return Finding(Verdict.PASS, f"Set: {length_words(mean, system)}", f"Mean {words}.", sums,
                       (), cautions, "", values, notes, f"{words}")  # fmt: skip
    try:
        advice = advise(adjuster_after(dug, about), mean, target)
    except WrongWay:
        return _wrong_way(dug, about, sums, values, notes)
    if advice.direction is None:
        return Finding(Verdict.CAUTION, advice_text(advice, system), f"Mean {words}.", sums, (),
                       cautions, "", values, notes, words)  # fmt: skip
    learned = " Step learned from your digs." if advice.adjuster.learned else ""
    detail = f"Mean {words}. {finish_text(advice, system)}{learned}".strip()
    values["advised"] = advice.moved
    return Finding(Verdict.ADJUST, advice_text(advice, system), detail, sums, ("another dig",),
                   ("raised", *cautions), "shank_depth", values, notes, words)  # fmt: skip


def _wrong_way(
    dug: list[Round], about: About, sums: tuple[str, ...], values: dict[str, float],
    notes: tuple[str, ...],
) -> Finding:  # fmt: skip
    """The adjuster did the opposite of what it was moved for: said, and nothing advised."""
    asked = "deeper" if dug[-1].moved > 0 else "shallower"
    came = "shallower" if asked == "deeper" else "deeper"
    return Finding(
        Verdict.ADJUST, "The adjuster works the other way",
        f"Moved {asked}, dug {came}. Correct the movement, dig again.",
        sums, ("another dig",), ("raised", "leave_seat"), "shank_depth", values, notes,
        "works the other way",
    )  # fmt: skip


def _uneven(
    last: Round, about: About, sums: tuple[str, ...], cautions: tuple[str, ...],
    values: dict[str, float], notes: tuple[str, ...],
) -> Finding:  # fmt: skip
    """Shanks that disagree: depth cannot mend that, level or a bent shank can."""
    deepest = max(last.slots_m, key=lambda n: last.slots_m[n])
    shallow = min(last.slots_m, key=lambda n: last.slots_m[n])
    return Finding(
        Verdict.ADJUST, f"Shank {shallow} is shallow, shank {deepest} deep: level first",
        "Go back to step 4. If it is level, look for a bent shank or a worn point.", sums,
        ("even shanks",), cautions, "level", values, notes, "shanks uneven",
    )  # fmt: skip


def _target_sum(answers: Answers, about: About, target: float) -> str:
    bottom = about.value("hard_layer", "bottom")
    if bottom is None:
        return f"Depth typed: {length_words(target, about.system)}"
    return (
        f"{length_figure(bottom, about.system)} bottom + "
        f"{length_figure(target - bottom, about.system)} margin = "
        f"{length_words(target, about.system)}"
    )


def _line_cautions(target: float, about: About) -> tuple[str, ...]:
    deep = target > about.rig.limits.line_depth_m + 1e-9
    return ("leave_seat", "lines") if deep else ("leave_seat",)


def _spacing_notes(target: float, about: About) -> tuple[str, ...]:
    across = sorted(shank.across_m for shank in about.rig.tool.shanks)
    if len(across) < 2:
        return ()
    spacing = (across[-1] - across[0]) / (len(across) - 1)
    kind = PointKind.WINGED if about.rig.tool.winged else PointKind.NARROW
    verdict = judge_spacing(spacing, target, kind) if spacing > 0 else SpacingVerdict.RIGHT
    if verdict is SpacingVerdict.RIGHT:
        return ()
    return (f"Shanks {length_words(spacing, about.system)} apart: {verdict.value}",)


def _critical_notes(target: float, answers: Answers, about: About) -> tuple[str, ...]:
    """What a narrow point's width says of the depth below which it stops lifting."""
    width = answers.value("point_width")
    if width is None or about.rig.tool.winged:
        return ()
    verdict = judge_critical_depth(target, width)
    if verdict is CriticalVerdict.LIFTS:
        return ()
    return (f"{verdict.value.capitalize()} (5 to 7 point widths, from memory)",)
