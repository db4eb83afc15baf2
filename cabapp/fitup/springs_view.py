"""The page Springs as data: one line a shank, and the trip that was just seen."""

import math
from collections import deque
from dataclasses import dataclass, replace

from cabapp.channels import FAMILIES
from cabapp.curve import Curve
from cabapp.fitup.edits import curve_of_shares
from cabapp.fitup.findings import Fault, Finding, Weight
from cabapp.fitup.judge import Verdict
from cabapp.fitup.plugs import Mark
from cabapp.fitup.scaling import WIRES, Signal, Wire, signal_in
from cabapp.fitup.sensors import sensor_words, vouched, wire_of
from cabapp.fitup.springs import SpringProof, Witness, prove_spring
from cabapp.rig import Rig, Sensor
from cabapp.units import UnitSystem

JUST_NOW_S = 10.0  # a person who saw a trip has this long to say so


class PeakCatcher:
    """Keeps the last seconds of one spring, so that a trip seen can be taken after it happened.

    Fed the node's mean and its most and least alike: a trip is over before the next mean.
    A trip that was taken is not heard again: the next begins when the spring has come back.
    """

    def __init__(self, window_s: float = JUST_NOW_S) -> None:
        self.window_s = window_s
        self._heard: deque[tuple[float, float]] = deque()
        self._taken: tuple[float, float] | None = None

    def taken(self, lifted: float, peak: float) -> None:
        """This peak counts now, once: what is heard until half of it is gone belongs to it."""
        self._heard.clear()
        self._taken = (lifted, abs(peak - lifted) / 2)

    def hear(self, value: float | None, at: float) -> None:
        """One value in wire units; empty values are passed over."""
        if value is None or not math.isfinite(value):
            return
        if self._taken is not None:
            lifted, half = self._taken
            if abs(value - lifted) > half:
                return
            self._taken = None
        self._heard.append((at, value))
        while self._heard[0][0] < at - self.window_s:
            self._heard.popleft()

    def furthest(self, lifted: float, now: float) -> float | None:
        """The value furthest from ``lifted`` just now, whichever way this sensor goes."""
        fresh = [value for at, value in self._heard if at >= now - self.window_s]
        return max(fresh, key=lambda value: abs(value - lifted), default=None)


@dataclass(frozen=True)
class SpringRow:
    """One spring on the page: what was witnessed, what it proves, and what is missing next.

    ``ready`` are its shares, to be accepted; None once the rig reads by them.
    """

    channel: str
    words: str
    lifted: str
    trips: str
    mark: Mark
    verdict: str
    next: str
    proof: SpringProof
    ready: Curve | None


def spring_rows(rig: Rig, witnesses: dict[str, Witness]) -> tuple[SpringRow, ...]:
    """Every fitted spring in the order of the rig file; ``witnesses`` by channel."""
    return tuple(
        _row(sensor, witnesses.get(sensor.channel, Witness()), force_unit(rig.units))
        for sensor in rig.fitted("spring")
    )


def spring_wire(sensor: Sensor) -> Wire:
    """What a spring's wire carries: volts, or newtons from a node."""
    return wire_of(sensor) or WIRES[FAMILIES["spring"].xdr_unit]


def spring_signal(sensor: Sensor, unit: str) -> Signal:
    """How a spring's signal is shown on its page: volts to a hundredth, forces in ``unit``."""
    signal = signal_in(spring_wire(sensor), unit)
    return replace(signal, decimals=min(2, signal.decimals))


def force_unit(units: UnitSystem) -> str:
    """What people of these units weigh a pull in."""
    return "lbf" if units is UnitSystem.US else "kN"


def _row(sensor: Sensor, witness: Witness, unit: str) -> SpringRow:
    proof = prove_spring(witness, spring_wire(sensor), unit)
    signal = spring_signal(sensor, unit)
    first = next(iter(proof.findings), None)
    kept = "" if witness.trips else _kept(sensor, witness)
    ready, accepted = _ready(sensor, proof)
    return SpringRow(
        channel=sensor.channel,
        words=sensor_words(sensor),
        lifted=", ".join(signal.number(take.signal) for take in witness.lifted),
        trips=", ".join(signal.number(peak) for peak in witness.trips),
        mark=Mark.DONE if kept and sensor.curve is not None else _mark(proof, accepted),
        verdict=kept or (first.what if first else "Lifted is 0, the trips agree"),
        next=_next(sensor, first, kept, accepted),
        proof=proof,
        ready=ready,
    )


def _ready(sensor: Sensor, proof: SpringProof) -> tuple[Curve | None, str]:
    """The shares that may be accepted, or that it was: ``Accepted 2031-04-09.``."""
    if proof.curve is None or proof.verdict is Verdict.REFUSED:
        return None, ""
    made = sensor.curve.made if sensor.curve else ""
    by = sensor.curve.by if sensor.curve else ""
    if sensor.curve == replace(curve_of_shares(sensor, proof.curve), made=made, by=by):
        return None, f"Accepted {made}".rstrip() + "."
    return proof.curve, ""


def _next(sensor: Sensor, first: Finding | None, kept: str, accepted: str) -> str:
    """What to do now: nothing is missing where it reads by what was accepted earlier."""
    if kept and sensor.curve is not None:
        return "To take it anew: lifted now, then a trip that you see."
    mend = first.mend if first else ""
    return " ".join(part for part in (accepted, mend) if part) or "Accept it."


def _kept(sensor: Sensor, witness: Witness) -> str:
    """What a spring reads by while no trip has been witnessed here; "" where it reads nothing."""
    if sensor.curve is not None:
        return f"Trip known, accepted {sensor.curve.made}" if sensor.curve.made else "Trip known"
    return "By its node, not checked" if vouched(sensor) and not witness.lifted else ""


def _mark(proof: SpringProof, accepted: str) -> Mark:
    """Trouble is what was found wrong; what was not seen or not accepted is only still to do."""
    if proof.verdict is Verdict.PROVEN:
        return Mark.DONE if accepted else Mark.TO_DO
    wrong = any(
        f.weight is Weight.REFUSES and f.fault not in (Fault.NOT_LIFTED, Fault.NO_TRIP)
        for f in proof.findings
    )
    return Mark.TROUBLE if wrong else Mark.TO_DO
