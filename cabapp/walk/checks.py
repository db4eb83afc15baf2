"""Steps 1 and the road list: every line looked at, exceptions as the owner set them."""

from cabapp.rig import Rig
from cabapp.units import UnitSystem, shown_unit, to_unit
from cabapp.walk.entries import Answers
from cabapp.walk.findings import About, Finding, Verdict, length_words
from cabapp.walk.steps import AskKind, Step, Then

PRESSURE_SLACK = 0.05  # of the chart's figure, either way; our own default
BLADE_WORN_SHARE = 0.80  # of the diameter when new; our own default, the manual goes first
POINT_WORN_M = 0.0381  # an inch and a half of point; our own default, the manual goes first


def check(step: Step, answers: Answers, about: About) -> Finding:
    """The walk-round (or the road list): what was noted, what blocks, what is still to look at."""
    exceptions: list[str] = []
    blocks: list[str] = []
    cautions: list[str] = []
    for ask in step.asks:
        choice = ask.choice(answers.choice(ask.key)) if ask.kind is AskKind.CHOICE else None
        if choice is None or choice.then in (Then.GOOD, Then.NOTE):
            continue
        (blocks if choice.then is Then.BLOCK else exceptions).append(f"{ask.words}: {choice.mend}")
        cautions += [ask.caution] if ask.caution else []
    measured, sums = _measured(answers, about)
    exceptions += measured
    missing = tuple(
        ask.words for ask in step.asks if not ask.optional and answers.entry(ask.key) is None
    )
    looked = sum(answers.entry(ask.key) is not None for ask in step.asks)
    summary = f"{looked} looked at, {len(exceptions) + len(blocks)} noted"
    return Finding(
        verdict=_verdict(missing, blocks, exceptions),
        headline=_headline(blocks, missing, exceptions),
        detail=f"{len(missing)} still to look at" if missing else summary,
        sums=tuple(sums),
        missing=missing,
        cautions=tuple(dict.fromkeys(cautions)),
        values=_values(answers),
        notes=(*blocks, *exceptions),
        summary=summary,
    )


def _headline(blocks: list[str], missing: tuple[str, ...], exceptions: list[str]) -> str:
    if blocks:
        return blocks[0]
    if missing:
        return f"Still open: {missing[0]}"
    return exceptions[0] if exceptions else "Everything looked at, nothing noted"


def _verdict(missing: tuple[str, ...], blocks: list[str], exceptions: list[str]) -> Verdict:
    if blocks:
        return Verdict.WAIT
    if missing:
        return Verdict.OPEN
    return Verdict.CAUTION if exceptions else Verdict.PASS


def blocking(step: Step, answers: Answers) -> tuple[str, ...]:
    """The exceptions that hold a note on Drive until they are answered otherwise."""
    found = []
    for ask in step.asks:
        choice = ask.choice(answers.choice(ask.key)) if ask.kind is AskKind.CHOICE else None
        if choice is not None and choice.then is Then.BLOCK:
            found.append(f"{ask.words}: {choice.words}")
    return tuple(found)


def _values(answers: Answers) -> dict[str, float]:
    keys = ("area", "row_bearing", "point_worn")
    return {key: value for key in keys if (value := answers.value(key)) is not None}


def _measured(answers: Answers, about: About) -> tuple[list[str], list[str]]:
    """What the measured lines say: tyres against their chart, wear, size on the road."""
    notes: list[str] = []
    sums: list[str] = []
    for name, words in (("tyre_front", "Tractor front tyre"), ("tyre_tool", "Tool tyre")):
        found, chart = answers.value(name), answers.value(f"{name}_chart")
        if found is None or chart is None:
            continue
        change = _pressure(chart - found, about.system)
        sums.append(f"{words}: {_pressure(found, about.system)}, chart "
                    f"{_pressure(chart, about.system)}")  # fmt: skip
        if abs(found - chart) > PRESSURE_SLACK * chart:
            notes.append(f"{words}: {'add' if found < chart else 'let out'} {change.lstrip('-')}")
    blade, new = answers.value("blade"), answers.value("blade_new")
    if blade is not None and new is not None:
        sums.append(f"Blade {100 * blade / new:.0f} % of new")
        if blade < BLADE_WORN_SHARE * new:
            notes.append("Front disc blade: worn below four fifths, change it by the manual")
    worn = answers.value("point_worn")
    if worn is not None and worn > POINT_WORN_M:
        notes.append(f"Point worn {length_words(worn, about.system)}: change it, or dig to be sure")
    return notes + _road_size(answers, about.rig, about.system), sums


def _road_size(answers: Answers, rig: Rig, system: UnitSystem) -> list[str]:
    notes = []
    for key, known in (
        ("width", rig.tool.transport_width_m),
        ("height", rig.tool.transport_height_m),
    ):
        found = answers.value(key)
        if found is not None and known is not None and found > known + 0.05:
            unit = shown_unit("length", system)
            over = to_unit(found - known, unit)
            notes.append(
                f"{key.capitalize()} is {over:.1f} {unit} over the rig's own: fold, measure again"
            )
    return notes


def _pressure(value_pa: float, system: UnitSystem) -> str:
    unit = shown_unit("pressure", system)
    return f"{to_unit(value_pa, unit):.0f} {unit}"
