"""Step 3: the hard layer from pits and probe places; a person chooses which bottom counts."""

from dataclasses import dataclass

from cabapp.trade.cone import Cone, cone_worn, reread_pa
from cabapp.trade.layer import LEAST_PITS, Layer, LayerState, Pit, summarise, summarise_zones
from cabapp.trade.probe import Profile, layer_in_profile, layers_at_one_spot
from cabapp.units import INCH_M, UnitSystem
from cabapp.walk.entries import Answers
from cabapp.walk.findings import About, Finding, Verdict, length_figure, length_words

MARK_M = {UnitSystem.US: 3 * INCH_M, UnitSystem.METRIC: 0.075}  # marks on the rod
MARKS = 10  # down to 30 in or 75 cm
LEAST_MARKS = 3


@dataclass(frozen=True)
class Place:
    """One pit or probe place: its number, layer, and how far its rod readings go."""

    number: int
    layer: Layer
    zone: str
    profile: tuple[tuple[float, float], ...] = ()  # (depth m, pressure Pa), probes only
    fault: str = ""


def mark_m(number: int, system: UnitSystem) -> float:
    """Depth of a rod mark; mark 0 is the surface."""
    return number * MARK_M[system]


def places(answers: Answers, system: UnitSystem) -> tuple[Place, ...]:
    """Every place begun, in order. A place whose answers do not fit carries its fault in words."""
    numbers = set(answers.numbers("pit", "_way"))
    return tuple(
        place for n in sorted(numbers) if (place := _place(n, answers, system)) is not None
    )


def _place(n: int, answers: Answers, system: UnitSystem) -> Place | None:
    zone = answers.choice(f"pit{n}_zone")
    if answers.choice(f"pit{n}_way") == "probe":
        return _probe(n, answers, system, zone)
    found = answers.choice(f"pit{n}_found")
    top, bottom = answers.value(f"pit{n}_top"), answers.value(f"pit{n}_bottom")
    if found == "none":
        return Place(n, Layer(LayerState.NONE), zone)
    if found == "not_reached" and top is not None:
        return Place(n, Layer(LayerState.BOTTOM_NOT_REACHED, top), zone)
    if found != "layer" or top is None or bottom is None:
        return None
    if bottom <= top:
        words = f"Pit {n}: the bottom {length_words(bottom, system)} is not below the top " \
                f"{length_words(top, system)}; were they swapped?"  # fmt: skip
        return Place(n, Layer(LayerState.BOTTOM_NOT_REACHED, top), zone, fault=words)
    return Place(n, Layer(LayerState.FOUND, top, bottom), zone)


def _pushed(n: int, key: str, answers: Answers, system: UnitSystem) -> Profile | None:
    """One push of a probe place as depths and true resistances; None below three readings."""
    marks = answers.numbers(f"pit{n}_{key}", "")
    cone, scale = answers.choice(f"pit{n}_cone"), answers.choice(f"pit{n}_scale")
    if len(marks) < LEAST_MARKS or not cone or not scale:
        return None
    fitted, read = Cone[cone.upper()], Cone[scale.upper()]
    found = [
        (mark_m(mark, system), reread_pa(pressure, read, fitted))
        for mark in marks
        if (pressure := answers.value(f"pit{n}_{key}{mark}")) is not None
    ]
    return [depth for depth, _ in found], [pressure for _, pressure in found]


def _probe(n: int, answers: Answers, system: UnitSystem, zone: str) -> Place | None:
    first = _pushed(n, "reading", answers, system)
    if first is None:
        return None
    second = _pushed(n, "second", answers, system)
    dry = answers.choice(f"pit{n}_moist") == "dry"
    pushes = [first] if second is None else [first, second]
    layer = layers_at_one_spot(pushes, dry=dry)[0]
    return Place(n, layer, zone, tuple(zip(*first, strict=True)), _cone_fault(n, answers, system))


def _cone_fault(n: int, answers: Answers, system: UnitSystem) -> str:
    across, cone = answers.value(f"pit{n}_cone_now"), answers.choice(f"pit{n}_cone")
    if across is None or not cone or not cone_worn(across, Cone[cone.upper()]):
        return ""
    new = Cone[cone.upper()].value.base_m
    return (
        f"Probe {n}: the cone is worn, {across * 1000:.1f} of {new * 1000:.1f} mm: "
        "change it, or dig a pit"
    )


def lone_stones(n: int, answers: Answers, system: UnitSystem) -> bool:
    """Whether the first push shows a lone hard reading that a second push should confirm."""
    first = _pushed(n, "reading", answers, system)
    return first is not None and bool(layer_in_profile(*first).stones_m)


def hard_layer(answers: Answers, about: About) -> Finding:
    """Median, spread and deepest of the bottoms, and the bottom a person chose to work to."""
    found = places(answers, about.system)
    faults = tuple(place.fault for place in found if place.fault)
    judged = [place for place in found if place.layer.state is not LayerState.TOO_DRY]
    if not judged:
        said = (
            "Too dry for a probe: dig a pit" if found else "Dig three pits, or probe three places"
        )
        return Finding(Verdict.OPEN, said, missing=("three places",), cautions=("lines", "pit"))
    summary = summarise(Pit(place.layer, place.zone) for place in judged)
    sums = _sums(judged, about)
    missing = _missing(summary.pits, summary.not_reached, faults, answers)
    if summary.median_m is None or summary.deepest_m is None:
        return _without_bottom(summary.not_reached, sums, missing, faults)
    use = answers.choice("use")
    bottom = summary.deepest_m if use == "deepest" else summary.median_m
    spread = summary.spread_m or 0.0
    of = "Deepest" if use == "deepest" else "Middle"
    detail = f"{of} of {summary.pits}, spread {length_words(spread, about.system)}."
    if summary.wants_zones and use != "zones":
        detail += " Wide: better each part its own depth."
    values = {"bottom": bottom, "deepest": summary.deepest_m, "spread": spread}
    if summary.median_top_m is not None:
        values["top"] = min(summary.median_top_m, bottom - 0.01)
    values |= _zones(judged) if use == "zones" else {}
    words = f"{length_figure(values.get('top', 0.0), about.system)} to " \
            f"{length_words(bottom, about.system)}"  # fmt: skip
    return Finding(
        verdict=Verdict.OPEN
        if missing
        else Verdict.CAUTION
        if summary.wants_zones
        else Verdict.PASS,
        headline=faults[0] if faults else f"Hard from {words}",
        detail=detail,
        sums=sums,
        missing=missing,
        cautions=("lines", "pit"),
        values=values,
        notes=faults,
        summary=f"{words}, {summary.pits} places",
    )


def _without_bottom(
    not_reached: int, sums: tuple[str, ...], missing: tuple[str, ...], faults: tuple[str, ...]
) -> Finding:
    if not_reached:
        return Finding(Verdict.OPEN, faults[0] if faults else "Bottom not reached: dig deeper",
                       "No depth is made up: the bottom has to be seen.", sums,
                       (*missing, "a bottom"), ("pit",), notes=faults)  # fmt: skip
    verdict = Verdict.OPEN if missing else Verdict.CAUTION
    return Finding(verdict, "No hard layer found: ripping may not pay",
                   "Work to a depth of your own choice in step 5, or leave this field.", sums,
                   missing, summary="no hard layer")  # fmt: skip


def _missing(
    pits: int, not_reached: int, faults: tuple[str, ...], answers: Answers
) -> tuple[str, ...]:
    missing = []
    if pits < LEAST_PITS:
        missing.append(f"{LEAST_PITS - pits} more place{'s' if LEAST_PITS - pits > 1 else ''}")
    if not_reached:
        missing.append("a bottom not reached yet")
    if faults:
        missing.append("a place that does not fit")
    if not answers.choice("use") and pits >= LEAST_PITS:
        missing.append("which bottom to work to")
    return tuple(missing)


def _sums(judged: list[Place], about: About) -> tuple[str, ...]:
    bottoms = [p.layer.bottom_m for p in judged if p.layer.bottom_m is not None]
    if not bottoms:
        return ()
    unit = "in" if about.system is UnitSystem.US else "cm"
    ordered = ", ".join(length_figure(bottom, about.system) for bottom in sorted(bottoms))
    middle = summarise(Pit(p.layer) for p in judged).median_m
    assert middle is not None
    middle_text = length_figure(middle, about.system)
    if len(bottoms) > 5:
        least = length_figure(min(bottoms), about.system)
        most = length_figure(max(bottoms), about.system)
        return (f"{len(bottoms)} bottoms, {least} to {most}: middle {middle_text} {unit}",)
    return (f"Bottoms {ordered}: middle {middle_text} {unit}",)


def _zones(judged: list[Place]) -> dict[str, float]:
    zones = summarise_zones(Pit(place.layer, place.zone) for place in judged)
    return {
        f"bottom_{zone}": summary.median_m
        for zone, summary in zones.items()
        if zone and summary.median_m is not None
    }
