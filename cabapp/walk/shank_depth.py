"""Step 5: the shanks one inch below the layer, reached with this machine's own adjuster."""

from dataclasses import dataclass

from cabapp.trade.depth import (
    Adjuster,
    Advice,
    Dig,
    advice_text,
    advise,
    finish_text,
    learn_response,
    target_depth_m,
    with_response,
)
from cabapp.trade.spacing import (
    PointKind,
    SpacingVerdict,
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
    for n in _begun(answers):
        slots = {
            shank: depth
            for shank in shank_numbers(about)
            if (depth := answers.value(f"dig{n}_shank{shank}")) is not None
        }
        if not slots:
            continue
        said = answers.value(f"dig{n}_moved")
        if said is None and found and target is not None:
            said = advice_after(found, target, about).moved
        found.append(Round(n, slots, said or 0.0))
    return tuple(found)


def _begun(answers: Answers) -> tuple[int, ...]:
    starts = {key.split("_")[0][3:] for key in answers.answered if key.startswith("dig")}
    return tuple(sorted(int(start) for start in starts if start.isdigit()))


def target_of(answers: Answers, about: About) -> float | None:
    """The depth to set: the chosen bottom and the margin, or a depth typed where no layer is."""
    bottom = about.value("hard_layer", "bottom")
    margin = answers.value("margin")
    if bottom is None:
        return answers.value("target")
    return target_depth_m(bottom, INCH_M if margin is None else margin)


def adjuster_after(dug: list[Round], about: About) -> Adjuster:
    """The rig's adjuster, taught by the digs so far where they teach anything."""
    fitted = Adjuster.of(about.rig.tool.adjuster)
    setting, digs = 0.0, []
    for one in dug:
        setting += one.moved
        digs.append(Dig(setting, one.mean_m, fitted.finish if one.moved else None))
    try:
        return with_response(fitted, learn_response(digs))
    except ValueError:  # fewer than two digs, or moved less than a step: nothing to learn yet
        return fitted


def advice_after(dug: list[Round], target_m: float, about: About) -> Advice:
    """What to move after the last round."""
    return advise(adjuster_after(dug, about), dug[-1].mean_m, target_m)


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
    notes = _spacing_notes(target, about)
    dug = list(rounds(answers, about))
    wanted = shank_numbers(about)
    left = [n for n in wanted if not dug or n not in dug[-1].slots_m]
    if left:
        missing = (f"shanks {', '.join(map(str, left))}",)
        want = f"Want {length_words(target, system)}."
        return Finding(Verdict.OPEN, f"Dig at shank {left[0]}", want, tuple(sums), missing,
                       cautions, "", values, notes)  # fmt: skip
    last = dug[-1]
    spread = max(last.slots_m.values()) - min(last.slots_m.values())
    sums.append(f"Mean of {len(last.slots_m)} slots {length_words(last.mean_m, system)}, "
                f"spread {length_words(spread, system)}")  # fmt: skip
    values |= {"dug": last.mean_m, "rounds": float(len(dug)), "spread": spread}
    if spread > SPREAD_M:
        return _uneven(last, about, tuple(sums), cautions, values, notes)
    return _against_target(dug, target, about, tuple(sums), cautions, values, notes)


def _against_target(
    dug: list[Round], target: float, about: About, sums: tuple[str, ...],
    cautions: tuple[str, ...], values: dict[str, float], notes: tuple[str, ...],
) -> Finding:  # fmt: skip
    system, mean = about.system, dug[-1].mean_m
    advice = advice_after(dug, target, about)
    near = abs(mean - target) <= max(CLOSE_ENOUGH_M, advice.adjuster.smallest *
                                     advice.adjuster.step_m / 2)  # fmt: skip
    words = f"{length_words(mean, system)}, want {length_figure(target, system)}"
    if near or advice.direction is None:
        return Finding(Verdict.PASS, f"Set: {length_words(mean, system)}", f"Mean {words}.", sums,
                       (), cautions, "", values, notes, f"{words}")  # fmt: skip
    learned = " Step learned from your digs." if advice.adjuster.learned else ""
    detail = f"Mean {words}. {finish_text(advice, system)}{learned}".strip()
    values["advised"] = advice.moved
    return Finding(Verdict.ADJUST, advice_text(advice, system), detail, sums, ("another dig",),
                   ("raised", *cautions), "shank_depth", values, notes, words)  # fmt: skip


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
