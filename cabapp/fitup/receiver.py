"""Proving the receiver: what it sends, its speed at rest, and its metres against a tape."""

from collections import deque
from dataclasses import dataclass

from cabapp.fitup.evidence import (
    COURSE_LEAST_M,
    REST_LEAST_S,
    CourseProof,
    ReceiverProof,
)
from cabapp.readings import FixKind
from cabapp.units import UnitSystem, shown_unit, to_unit

COURSE_MOST_M = 1000.0
LOST_MOST_S = 2.0  # without a speed on the way: more, and the metres are short
FAR_OFF = 0.20  # more than a receiver's error: another course, another unit
FEET_A_METRE = 1.0 / 0.3048
KEPT_S = 60.0
GAP_S = 3.0  # not watched for longer: the page was away, and the machine may have moved

FIX_WORDS = {
    FixKind.NONE: "no fix: wait for open sky",
    FixKind.PLAIN: "plain",
    FixKind.CORRECTED: "corrected from the ground",
    FixKind.SATELLITE_CORRECTED: "corrected by satellite",
    FixKind.FLOAT: "carrier phase, not settled",
    FixKind.FIXED: "carrier phase, fixed",
    FixKind.ESTIMATED: "estimated: not used",
}
# How well the edge of a swath is known by kind of fix, metres: field judgement. It bounds what the
# record may say of area and overlap.
EDGE_M = {
    FixKind.FIXED: 0.05,
    FixKind.FLOAT: 0.5,
    FixKind.CORRECTED: 0.5,
    FixKind.SATELLITE_CORRECTED: 1.0,
    FixKind.PLAIN: 3.0,
}


@dataclass(frozen=True)
class Driven:
    """The engine's count: metres by the receiver's speed, seconds without one, since its start."""

    metres: float
    lost_s: float
    since: float


class RestWatch:
    """The receiver's speed while the machine stands; fed as it comes."""

    def __init__(self) -> None:
        self._heard: deque[tuple[float, float]] = deque()

    def hear(self, speed_mps: float | None, at: float) -> None:
        """A speed; none breaks the watch."""
        if speed_mps is None:
            self._heard.clear()
            return
        if self._heard and at <= self._heard[-1][0]:
            return
        if self._heard and at - self._heard[-1][0] > GAP_S:
            self._heard.clear()
        self._heard.append((at, speed_mps))
        while at - self._heard[0][0] > KEPT_S:
            self._heard.popleft()

    @property
    def seconds(self) -> float:
        """How long it has been watched."""
        return self._heard[-1][0] - self._heard[0][0] if self._heard else 0.0

    @property
    def most_mps(self) -> float | None:
        """The fastest it read in that time."""
        return max((speed for _, speed in self._heard), default=None)

    def proof(self, kinds: tuple[str, ...], rate_hz: float, kind: FixKind) -> ReceiverProof | None:
        """What may be kept of it: nothing before it was watched for REST_LEAST_S."""
        most = self.most_mps
        if most is None or self.seconds < REST_LEAST_S:
            return None
        return ReceiverProof(kinds, round(rate_hz, 1), kind, most, self.seconds)


def far_text(metres: float, units: UnitSystem, decimals: int = 0) -> str:
    """A course's length in the rig's unit: ``300 ft``, ``91.4 m``."""
    unit = shown_unit("length", units)
    text = f"{to_unit(metres, unit):.{decimals}f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) + f" {unit}"


def least_course(units: UnitSystem) -> str:
    """The shortest course that is asked for: a round figure, never under what counts."""
    return "200 ft" if units is UnitSystem.US else far_text(COURSE_LEAST_M, units)


def ended(taped_m: float, start: Driven, end: Driven, units: UnitSystem) -> CourseProof | str:
    """The course as it was driven, or the sentence that says why it proves nothing."""
    if end.since != start.since:
        return "The tablet was started anew on the way. Drive it once more."
    lost_s = end.lost_s - start.lost_s
    if lost_s > LOST_MOST_S:
        return f"No speed came for {lost_s:.0f} s on the way. Drive it once more under open sky."
    metres = end.metres - start.metres
    if metres < 1.0:
        return "Nothing was driven yet. Drive to the far mark and stop there."
    both = f"By its speed {far_text(metres, units)}, by the tape {far_text(taped_m, units)}"
    for factor, what in (
        (FEET_A_METRE, "feet typed as metres"),
        (1 / FEET_A_METRE, "metres typed as feet"),
    ):
        if abs(metres * factor / taped_m - 1.0) <= FAR_OFF / 4:
            return f"{both}: {what}? Type it again."
    if abs(metres / taped_m - 1.0) > FAR_OFF:
        return (
            f"{both}. Was it driven from mark to mark, forward only? Measure and drive once more."
        )
    return CourseProof(taped_m, metres)


def course_length(metres: float, units: UnitSystem) -> str:
    """Why a length cannot be the course, "" if it can."""
    if COURSE_LEAST_M <= metres <= COURSE_MOST_M:
        return ""
    found = far_text(metres, units)
    if metres < COURSE_LEAST_M:
        return f"Found {found}. At least {least_course(units)}, or a step decides it."
    return f"Found {found}, expected at most {far_text(COURSE_MOST_M, units)}. Mind the unit."
