"""The limits page: each limit with its bounds, and why a tighter one is refused."""

from dataclasses import dataclass, replace

from cabapp.fitup.findings import Measure
from cabapp.fitup.sensors import sensor_words
from cabapp.rig import Limits, Rig, Sensor
from cabapp.rigbounds import BOUNDS, Bounds
from cabapp.units import INCH_M, KMH_MPS, MPH_MPS, UnitSystem, to_unit

ROOT_TWO = 2.0**0.5  # two sensors of the same error, one taken from the other


@dataclass(frozen=True)
class LimitKind:
    """One limit: its words, and the step of its less and more buttons."""

    attribute: str
    words: str
    us_unit: str
    us_step: float  # SI
    metric_unit: str
    metric_step: float  # SI

    @property
    def bounds(self) -> Bounds:
        """Least and most, in SI: those of the rig file."""
        return BOUNDS[f"limits.{self.attribute}"]

    def unit(self, units: UnitSystem) -> str:
        return self.us_unit if units is UnitSystem.US else self.metric_unit

    def step(self, units: UnitSystem) -> float:
        return self.us_step if units is UnitSystem.US else self.metric_step


def _length(attribute: str, words: str, us: float) -> LimitKind:
    return LimitKind(attribute, words, "in", us * INCH_M, "cm", 0.01)


LIMITS: tuple[LimitKind, ...] = (
    LimitKind("speed_low_mps", "Slowest", "mph", 0.5 * MPH_MPS, "km/h", 1.0 * KMH_MPS),
    LimitKind("speed_high_mps", "Fastest", "mph", 0.5 * MPH_MPS, "km/h", 1.0 * KMH_MPS),
    _length("depth_margin_m", "Depth, either way", 0.25),
    _length("level_live_m", "Level while driving", 0.25),
    _length("level_standing_m", "Level by tape", 0.25),
    LimitKind("spring_high", "Springs, share of trip", "%", 0.05, "%", 0.05),
    _length("line_depth_m", "Buried lines from", 1.0),
)


@dataclass(frozen=True)
class LimitRow:
    """A limit as shown: value text, whether less and more can be touched, and why not."""

    kind: LimitKind
    value: float
    text: str
    can_less: bool
    can_more: bool
    refused: str


def limit_rows(rig: Rig) -> tuple[LimitRow, ...]:
    """All limits of a rig, each with the reason that bounds it, "" where nothing does."""
    return tuple(_row(kind, rig) for kind in LIMITS)


def change(rig: Rig, attribute: str, value: float) -> Rig | str:
    """The rig with a limit changed, or the sentence that says why it is refused.

    A limit that is too tight may be widened by any step, even one that is not yet enough: else
    what the page asks for could never be reached.
    """
    kind = next(kind for kind in LIMITS if kind.attribute == attribute)
    changed = replace(rig, limits=replace(rig.limits, **{attribute: value}))
    measure = Measure(kind.unit(rig.units))
    least, most = kind.bounds
    if not least - 1e-9 <= value <= most + 1e-9:
        bounds = f"{measure.text(least)} to {measure.text(most)}"
        return f"{kind.words}: {measure.text(value)} is outside {bounds}."
    if changed.limits.speed_low_mps >= changed.limits.speed_high_mps:
        return "Slowest must stay under fastest."
    wider = _judged_by(kind, changed.limits)[1] > _judged_by(kind, rig.limits)[1]
    return changed if wider else refusal(kind, changed.limits, changed) or changed


def refusals(rig: Rig) -> tuple[str, ...]:
    """Every limit in force that is tighter than what its sensors were proven to."""
    return tuple(text for kind in LIMITS if (text := refusal(kind, rig.limits, rig)))


def refusal(kind: LimitKind, limits: Limits, rig: Rig) -> str:
    """Why this limit is tighter than its sensors' proven error; "" if it is not."""
    family, room, factor = _judged_by(kind, limits)
    worst = _least_proven(rig.fitted(family)) if family else None
    if worst is None or worst.curve is None:
        return ""
    error = _proven_error(worst) * factor
    if room >= error - 1e-9:
        return ""
    unit = "%" if family == "spring" else ("in" if rig.units is UnitSystem.US else "cm")
    return (
        f"{kind.words}: {_fine(room, unit)} is tighter than {sensor_words(worst)} was proven, "
        f"{_fine(error, unit)}. Widen it, or prove that sensor better."
    )


def _judged_by(kind: LimitKind, limits: Limits) -> tuple[str, float, float]:
    """The family that judges a limit, the room it leaves (SI), and how the error enters."""
    table = {
        "depth_margin_m": ("depth", limits.depth_margin_m, 1.0),
        "level_live_m": ("depth", limits.level_live_m, ROOT_TWO),
        "spring_high": ("spring", 1.0 - limits.spring_high, 1.0),
    }
    return table.get(kind.attribute, ("", 0.0, 1.0))


def _least_proven(sensors: tuple[Sensor, ...]) -> Sensor | None:
    curved = [s for s in sensors if s.curve is not None]
    return max(curved, key=_proven_error, default=None)


def _proven_error(sensor: Sensor) -> float:
    """In the channel's own unit: metres, or for a spring its share of the trip."""
    error = sensor.curve.proven_error if sensor.curve else 0.0
    return error / (sensor.trip_n or 1.0)


def _fine(value: float, unit: str) -> str:
    return f"{to_unit(value, unit):.2f}".rstrip("0").rstrip(".") + f" {unit}"


def _row(kind: LimitKind, rig: Rig) -> LimitRow:
    value = getattr(rig.limits, kind.attribute)
    step = kind.step(rig.units)
    less = change(rig, kind.attribute, value - step)
    more = change(rig, kind.attribute, value + step)
    return LimitRow(
        kind,
        value,
        Measure(kind.unit(rig.units)).text(value),
        can_less=isinstance(less, Rig),
        can_more=isinstance(more, Rig),
        refused=next((text for text in (less, more) if isinstance(text, str)), ""),
    )
