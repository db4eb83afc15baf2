"""Springs the quick way: hanging free is 0, a trip that somebody saw is 100 percent.

Between the two the share is a straight line, not a load: a preloaded pack has a dead zone that
only a full fit in newtons shows (task.force_task and judge).
"""

import math
from dataclasses import dataclass, replace

from cabapp.curve import Curve, CurveKind
from cabapp.fitup.findings import Fault, Finding, Measure, Weight, exceeds, finding
from cabapp.fitup.judge import Verdict
from cabapp.fitup.points import Approach, Take
from cabapp.fitup.scaling import Wire, signal_in

TRIP_SPREAD_ALLOWED = 0.10  # field judgement: trips of one pack agree within a tenth
APART_IN_STILL_SPANS = 10.0  # lifted and trip must differ by this many times the still span
SHARE = Measure("%")


@dataclass(frozen=True)
class Witness:
    """The two witnessed points of one spring: takes hanging free, peaks of trips that were seen."""

    lifted: tuple[Take, ...] = ()
    trips: tuple[float, ...] = ()

    def with_lifted(self, signal: float, least: float, most: float) -> "Witness":
        """One more still reading with the tool lifted, mechanical locks in."""
        return replace(self, lifted=(*self.lifted, Take(signal, Approach.UP, least, most)))

    def with_trip(self, peak: float) -> "Witness":
        """One more trip that a person saw, with the peak the node sent."""
        return replace(self, trips=(*self.trips, peak))


@dataclass(frozen=True)
class SpringProof:
    """What two witnesses prove; ``curve`` gives the share of trip, None until both are there."""

    verdict: Verdict
    findings: tuple[Finding, ...]
    curve: Curve | None


def prove_spring(witness: Witness, wire: Wire, unit: str = "kN") -> SpringProof:
    """Judge the witnessed points; wire values stay in wire units, shares are 0 to 1.

    ``unit`` is what a force is named in where a finding names one.
    """
    missing, shown = list(_missing(witness)), signal_in(wire, unit)
    signals = [take.signal for take in witness.lifted] + list(witness.trips)
    missing += [
        finding(
            Fault.WIRE,
            where="the spring",
            found=shown.text(signal),
            least=shown.number(wire.least),
            most=shown.text(wire.most),
        )
        for signal in signals
        if not wire.is_sound(signal)
    ]
    if missing:
        return SpringProof(Verdict.REFUSED, tuple(missing), None)
    free = math.fsum(take.signal for take in witness.lifted) / len(witness.lifted)
    trip = math.fsum(witness.trips) / len(witness.trips)
    if abs(trip - free) < APART_IN_STILL_SPANS * wire.still_span:
        same = finding(Fault.SAME_SIGNAL, where="lifted and trip")
        return SpringProof(Verdict.REFUSED, (same,), None)
    return _proof(witness, free, trip)


def _proof(witness: Witness, free: float, trip: float) -> SpringProof:
    slope = 1.0 / (trip - free)
    off = [abs(take.signal - free) for take in witness.lifted]
    off += [abs(peak - trip) for peak in witness.trips]
    spread = (max(witness.trips) - min(witness.trips)) * abs(slope)
    error = max(off) * abs(slope)
    found: list[Finding] = []
    if len(witness.trips) == 1:
        error = max(error, TRIP_SPREAD_ALLOWED)  # one trip cannot say how close the next will be
        found.append(finding(Fault.ONE_TRIP))
    elif spread > TRIP_SPREAD_ALLOWED:
        found.append(exceeds(Fault.TRIP_SPREAD, spread, TRIP_SPREAD_ALLOWED, SHARE, 1))
    curve = Curve(
        CurveKind.LINEAR,
        min(free, trip),
        max(free, trip),
        coefficients=(-free * slope, slope),
        proven_error=error,
    )
    weights = {f.weight for f in found}
    verdict = Verdict.REFUSED if Weight.REFUSES in weights else Verdict.UNPROVEN
    return SpringProof(verdict if found else Verdict.PROVEN, tuple(found), curve)


def _missing(witness: Witness) -> list[Finding]:
    found = []
    if not witness.lifted:
        found.append(finding(Fault.NOT_LIFTED))
    if not witness.trips:
        found.append(finding(Fault.NO_TRIP))
    return found
