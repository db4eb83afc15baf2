"""What was proven while fitting up, kept beside the rig file until it is signed and after."""

from dataclasses import dataclass, replace

from cabapp.curve import Curve
from cabapp.fitup.findings import Measure, Weight
from cabapp.fitup.judge import Judgement, Verdict
from cabapp.fitup.points import Place, Row, usable
from cabapp.fitup.springs import SpringProof, Witness
from cabapp.readings import FixKind
from cabapp.rig import Sensor

EVIDENCE_VERSION = 1
COURSE_LEAST_M = 60.0  # a taped course shorter than this proves nothing of a receiver's speed
REST_LEAST_S = 20.0  # a shorter look at rest proves nothing
RATE_LEAST_HZ = 0.9  # once a second, as counted over some seconds
SPEED_OFF_ALLOWED = 0.03  # field judgement: taped distance against the receiver's own


@dataclass(frozen=True)
class SensorProof:
    """One sensor's accepted calibration: how it was proven and what was left unproven.

    It speaks only for the very curve it holds; another curve in the rig file is not proven by it.
    """

    channel: str
    serial: str
    verdict: Verdict
    how: str
    unproven: tuple[str, ...]
    curve: Curve | None


@dataclass(frozen=True)
class CourseProof:
    """The receiver against a taped course: metres by tape, and metres by speed and time."""

    taped_m: float
    measured_m: float

    @property
    def off_share(self) -> float:
        return abs(self.measured_m - self.taped_m) / self.taped_m

    @property
    def holds(self) -> bool:
        return self.taped_m >= COURSE_LEAST_M and self.off_share <= SPEED_OFF_ALLOWED


@dataclass(frozen=True)
class ReceiverProof:
    """What a receiver sent while the machine stood, and how fast it read then."""

    kinds: tuple[str, ...]
    rate_hz: float
    fix: FixKind
    rest_most_mps: float
    rest_s: float

    @property
    def fixed(self) -> bool:
        return self.fix not in (FixKind.NONE, FixKind.ESTIMATED)

    def holds(self, standing_below_mps: float) -> bool:
        """Whether it can drive the rules: each second, with a fix, and slow enough at rest."""
        still = self.rest_s >= REST_LEAST_S and self.rest_most_mps < standing_below_mps
        return self.fixed and self.rate_hz >= RATE_LEAST_HZ and still


@dataclass(frozen=True)
class SwitchProof:
    """The tool switch: changes seen by a person, of how many made."""

    seen: int
    made: int

    @property
    def holds(self) -> bool:
        return self.made >= 5 and self.seen == self.made


@dataclass(frozen=True)
class SoundProof:
    """Both sounds in the running cab, heard and told apart by the person who signs.

    ``first`` and ``stepped`` are how loud they were then, shares of full scale: both sounds at
    first, and the act sound that nobody has answered.
    """

    act_heard: bool
    look_heard: bool
    told_apart: bool
    engine_running: bool
    first: float = 0.6
    stepped: float = 1.0

    @property
    def holds(self) -> bool:
        return self.act_heard and self.look_heard and self.told_apart and self.engine_running


@dataclass(frozen=True)
class ScreenProof:
    """A ruler held against the panel, and the eye's distance; signed for where beyond its rule."""

    ruler_held: bool
    eye_mm: float
    readable: bool
    signed_beyond: bool = False

    @property
    def holds(self) -> bool:
        return self.ruler_held and self.readable and not self.signed_beyond


@dataclass(frozen=True)
class Evidence:
    """Everything of one fitting. A field is None until that thing was done."""

    version: int = EVIDENCE_VERSION
    sensors: tuple[SensorProof, ...] = ()
    receiver: ReceiverProof | None = None
    course: CourseProof | None = None
    switch: SwitchProof | None = None
    sound: SoundProof | None = None
    screen: ScreenProof | None = None
    lengths_taped: bool = False
    bench_seen: tuple[str, ...] = ()  # the rules fired, seen and heard
    bench_done: int = 0
    bench_all: int = 0
    fitted_by: str = ""
    seen_by: str = ""
    signed_on: str = ""

    def proof_of(self, channel: str) -> SensorProof | None:
        return next((proof for proof in self.sensors if proof.channel == channel), None)

    def with_proof(self, proof: SensorProof) -> "Evidence":
        """A sensor proven anew; its older proof goes."""
        others = tuple(p for p in self.sensors if p.channel != proof.channel)
        return replace(self, sensors=(*others, proof))


def calibration_proof(
    sensor: Sensor, rows: tuple[Row, ...], judgement: Judgement, measure: Measure
) -> SensorProof:
    """What an accepted calibration says of itself: the points, and the most it is off.

    ``sensor`` is the row of the rig file with the accepted curve already in it.
    """
    shed, slots = usable(rows, Place.SHED), usable(rows, Place.SLOT)
    parts = [f"{len(shed)} points in the shed"]
    if slots:
        parts.append(f"{len(slots)} dug slots")
    proofs = usable(rows, Place.PROOF)
    if proofs:
        parts.append("proven at " + measure.text(proofs[0].known))
    worst = max((abs(off) for _, off in judgement.off), default=0.0)
    parts.append(f"off {measure.text(worst)} at most")
    left = tuple(f.what for f in judgement.findings if f.weight is Weight.UNPROVEN)
    return SensorProof(
        sensor.channel, sensor.serial, judgement.verdict, ", ".join(parts), left, sensor.curve
    )


def spring_proof(sensor: Sensor, witness: Witness, proof: SpringProof) -> SensorProof:
    """What two witnesses say of a spring; ``sensor`` has the curve in it, if there is one yet."""
    trips = len(witness.trips)
    how = "Not lifted yet"
    if witness.lifted:
        how = f"Lifted is 0, {trips or 'no'} trip{'s' if trips > 1 else ''} seen"
    left = tuple(f.what for f in proof.findings)
    curve = None if proof.curve is None else sensor.curve
    return SensorProof(sensor.channel, sensor.serial, proof.verdict, how, left, curve)
