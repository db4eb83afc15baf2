"""Step 2: will it pull, what will it burn, and is it dry enough down there."""

from dataclasses import replace

from cabapp.trade.capacity import field_capacity_m2_s
from cabapp.trade.combination import parts_of
from cabapp.trade.draft import (
    DraftSum,
    Soil,
    Surface,
    drawbar_power_w,
    engine_needed_w,
    fuel_m3_s,
    fuel_per_area_m,
    least_tractor_w,
    pto_needed_w,
    total_draft,
)
from cabapp.trade.moisture import (
    CAUTION_SOURCE,
    Feel,
    MoistureVerdict,
    judge_moisture,
    over_caution,
)
from cabapp.trade.slip import BEST_SLIP, slip_from_times
from cabapp.units import (
    ACRE_M2,
    HECTARE_M2,
    INCH_M,
    US_GALLON_M3,
    UnitSystem,
    shown_unit,
    shown_value,
    to_unit,
)
from cabapp.walk.entries import Answers
from cabapp.walk.findings import About, Finding, Verdict

EFFICIENCY = 0.84  # middle of the published range for subsoilers (PM 696); kept below as a range
LOAD_CAUTION = 0.90  # of rated PTO power: nothing left for hard ground; our own default
FEELS = {feel.name.lower(): feel for feel in Feel}


def will_it_pull(answers: Answers, about: About) -> Finding:
    """Draft, power, fuel and hours with their ranges; moisture decides go, caution or wait."""
    speed, depth = answers.value("speed_planned"), answers.value("depth_planned")
    soil, surface = answers.choice("soil"), answers.choice("surface")
    moisture = _moisture(answers, _shank_depth(depth, about))
    missing = _missing(answers, about)
    if speed is None or depth is None or not soil or not surface:
        return _by_moisture(moisture, missing, (), {}, "", _water_notes(answers))
    draft = total_draft(parts_of(about.rig.tool, depth), Soil(soil), speed)
    need = pto_needed_w(
        drawbar_power_w(draft.total_n, speed), Surface(surface), about.rig.tractor.drive
    )
    rated = answers.value("power") or about.rig.tractor.rated_pto_w
    sums = (*_sums(draft, speed, need, rated, surface, about), *_slip_sums(answers, surface))
    values = {"draft_n": draft.total_n, "pto_needed_w": need, "speed": speed, "depth": depth,
              "pto_low_w": need * draft.low_n / draft.total_n,
              "pto_high_w": need * draft.high_n / draft.total_n}  # fmt: skip
    asked = _power(need, about.system)
    summary = f"{asked.split()[0]} of {_power(rated, about.system)}" if rated else asked
    found = _by_moisture(moisture, missing, sums, values, summary, _water_notes(answers))
    if rated is None or need <= LOAD_CAUTION * rated or found.verdict in HOLDING:
        return found
    return _short_of_power(found, need, rated, about)


def _shank_depth(planned: float | None, about: About) -> float | None:
    """Where the points will run: under the layer where it is known, else the depth expected."""
    bottom = about.value("hard_layer", "bottom")
    return planned if bottom is None else bottom + INCH_M


def _water_notes(answers: Answers) -> tuple[str, ...]:
    """A practice standard is stricter than the usual advice: a caution that bars nothing."""
    share = answers.value("water")
    if share is None or not over_caution(share):
        return ()
    return (f"Water {100 * share:.0f} %: {CAUTION_SOURCE.publication} wants under 30 %",)


def _slip_sums(answers: Answers, surface: str) -> tuple[str, ...]:
    """Slip from two timed runs over the same marks, against the best range of the surface."""
    up, down = answers.value("time_up"), answers.value("time_down")
    if up is None or down is None:
        return ()
    slip = slip_from_times(up, down)
    if slip < 0:
        return ("Slip below nothing: were the two times swapped?",)
    best = next((row for row in BEST_SLIP if row.surface == surface), None)
    high = best is not None and slip > best.most
    word = ": too much, go shallower, lighter or slower" if high else ""
    return (f"Slip 1 − {up:g} s / {down:g} s = {100 * slip:.0f} %{word}",)


HOLDING = (Verdict.OPEN, Verdict.WAIT)  # what comes before any word on power


def _sums(
    draft: DraftSum, speed: float, need: float, rated: float | None, surface: str, about: About
) -> tuple[str, ...]:
    system = about.system
    low, high = draft.low_n / draft.total_n, draft.high_n / draft.total_n
    least = least_tractor_w(max(len(about.rig.tool.shanks), 1))
    lines = [
        f"Draft {_force(draft.total_n, system)}, {_force(draft.low_n, system)} to "
        f"{_force(draft.high_n, system)}",
        f"At the drawbar {_power(drawbar_power_w(draft.total_n, speed), system)}, PTO "
        f"{_power(need, system)} ({_power(need * low, system)} to {_power(need * high, system)}), "
        f"engine {_power(engine_needed_w(need), system)}",
        f"Rule of thumb: at least {_power(least, system)} of tractor for these shanks",
    ]
    if rated is not None:
        lines += _fuel_lines(need, rated, low, high, speed, about)
    best = next((row for row in BEST_SLIP if row.surface == surface), None)
    if best is not None:
        lines.append(f"Best slip here {100 * best.least:.0f} to {100 * best.most:.0f} %")
    if draft.from_memory:
        lines.append(f"From memory, not looked up: {', '.join(draft.from_memory)}")
    return tuple(lines)


def _fuel_lines(
    need: float, rated: float, low: float, high: float, speed: float, about: About
) -> list[str]:
    rate = field_capacity_m2_s(speed, about.rig.tool.width_m, EFFICIENCY)
    fuels = [fuel_m3_s(min(need * share, rated), rated) for share in (low, 1.0, high)]
    area = about.value("checks", "area")
    us = about.system is UnitSystem.US
    unit, size = ("gal/ac", ACRE_M2 / US_GALLON_M3) if us else ("L/ha", HECTARE_M2 * 1000)
    least, mean, most = (fuel_per_area_m(fuel, rate) * size for fuel in fuels)
    per_hour = shown_value(rate * 3600, "area", about.system)
    lines = [
        f"About {per_hour:g} {shown_unit('area', about.system)}/h, fuel {mean:.1f} {unit} "
        f"({least:.1f} to {most:.1f})"
    ]
    if area:
        lines.append(f"This field: about {area / rate / 3600:.1f} h of work")
    return lines


def _short_of_power(found: Finding, need: float, rated: float, about: About) -> Finding:
    """More than nine tenths of what the tractor has: name the speed that brings it under."""
    speed = found.values["speed"] * (LOAD_CAUTION * rated / need)
    text = f"{shown_value(speed, 'speed', about.system):g} {shown_unit('speed', about.system)}"
    share = f"It asks for {100 * need / rated:.0f} % of the rated power: at most {text}."
    if need <= rated:
        return replace(found, verdict=Verdict.CAUTION, detail=f"{found.detail} {share}".strip())
    return replace(
        found,
        verdict=Verdict.ADJUST,
        headline=f"Too much for it: plan at most {text}, or shallower",
        detail=share,
        leads_to="will_it_pull",
    )


def _moisture(answers: Answers, shank_depth_m: float | None) -> MoistureVerdict | None:
    """The wettest of the handfuls decides; None while there are fewer than three."""
    from_m = answers.value("feel_depth")
    feels = [FEELS[key] for n in (1, 2, 3) if (key := answers.choice(f"feel{n}")) in FEELS]
    if from_m is None or shank_depth_m is None or len(feels) < 3:
        return None
    if from_m <= 0:
        return MoistureVerdict.UNKNOWN
    order = list(Feel)
    return judge_moisture(min(feels, key=order.index), from_m, shank_depth_m)


VERDICT_OF = {
    MoistureVerdict.WAIT: (Verdict.WAIT, "Wait: too wet at shank depth"),
    MoistureVerdict.DIG_AND_LOOK: (
        Verdict.CAUTION,
        "On the wet side: short pass, dig, look for smear",
    ),
    MoistureVerdict.GO: (Verdict.PASS, "Dry enough to shatter: go"),
    MoistureVerdict.GO_HARD: (Verdict.CAUTION, "Dry: expect high load and big clods"),
    MoistureVerdict.UNKNOWN: (
        Verdict.OPEN,
        "Take the handfuls at shank depth: the top says nothing",
    ),
}


def _by_moisture(
    moisture: MoistureVerdict | None,
    missing: tuple[str, ...],
    sums: tuple[str, ...],
    values: dict[str, float],
    summary: str,
    notes: tuple[str, ...],
) -> Finding:
    if moisture is MoistureVerdict.UNKNOWN:
        missing = (*missing, "Handfuls at shank depth")
    if moisture is None:
        verdict, headline = Verdict.OPEN, f"Still open: {missing[0]}" if missing else "Still open"
    else:
        verdict, headline = VERDICT_OF[moisture]
    if missing and verdict is not Verdict.WAIT:
        verdict = Verdict.OPEN
    if notes and verdict is Verdict.PASS:
        verdict = Verdict.CAUTION
    said = moisture is None or moisture in (MoistureVerdict.GO, MoistureVerdict.GO_HARD)
    detail = "" if said or moisture is None else moisture.value.capitalize() + "."
    words = {Verdict.PASS: "dry", Verdict.WAIT: "too wet"}.get(verdict, "")
    return Finding(
        verdict,
        headline,
        detail,
        sums,
        missing,
        values=values,
        notes=notes,
        summary=", ".join(part for part in (summary, words) if part),
    )


def _missing(answers: Answers, about: About) -> tuple[str, ...]:
    names = {
        "soil": "soil", "surface": "ground under the tyres", "depth_planned": "depth you expect",
        "speed_planned": "speed you want", "feel1": "squeeze, place 1", "feel2": "squeeze, place 2",
        "feel3": "squeeze, place 3", "feel_depth": "how deep the handfuls came from",
    }  # fmt: skip
    return tuple(words for key, words in names.items() if answers.entry(key) is None)


def _power(power_w: float | None, system: UnitSystem) -> str:
    if power_w is None:
        return "unknown power"
    return f"{shown_value(power_w, 'power', system):.0f} {shown_unit('power', system)}"


def _force(force_n: float, system: UnitSystem) -> str:
    if system is UnitSystem.US:
        return f"{round(to_unit(force_n, 'lbf'), -2):,.0f} lbf"
    return f"{to_unit(force_n, 'kN'):.0f} kN"
