"""The sign-off sheet: what was verified and, as plainly, what was not."""

from dataclasses import dataclass
from enum import Enum

from cabapp.fitup.evidence import Evidence, SensorProof
from cabapp.fitup.judge import Verdict
from cabapp.fitup.limits import refusals
from cabapp.fitup.receiver import FIX_WORDS
from cabapp.fitup.sensors import sensor_words
from cabapp.rig import Rig, Sensor
from cabapp.units import UnitSystem, fraction_text, shown_unit, to_unit


class Standing(Enum):
    """What may be said of one thing; the word stands at the end of its line."""

    PROVEN = "proven"
    TAPED = "taped"
    NOT_PROVEN = "not proven"
    REFUSED = "refused"
    TRUSTED = "not checked"  # a node that says it calibrates itself
    NOT_FITTED = "not fitted"


GOOD = (Standing.PROVEN, Standing.TAPED)


@dataclass(frozen=True)
class Line:
    """One line of the sheet; ``meaning`` is what the driver lives without, "" if nothing."""

    what: str
    how: str
    standing: Standing
    meaning: str = ""


@dataclass(frozen=True)
class Sheet:
    """The whole sheet. ``limits`` are limits tighter than their sensors were proven."""

    title: str
    machine: str
    lines: tuple[Line, ...]
    limits: tuple[str, ...]
    fitted_by: str
    seen_by: str
    signed_on: str

    @property
    def proven(self) -> int:
        return sum(line.standing in GOOD for line in self.lines)

    @property
    def to_prove(self) -> int:
        """Lines of things that are there: what is not fitted needs no proof."""
        return sum(line.standing is not Standing.NOT_FITTED for line in self.lines)

    @property
    def button(self) -> str:
        """Never says more than was done."""
        return f"Sign: {self.proven} of {self.to_prove} proven"

    @property
    def meanings(self) -> tuple[str, ...]:
        """What the driver works without, unproven things before those not fitted."""
        lines = sorted(self.lines, key=lambda line: line.standing is Standing.NOT_FITTED)
        return tuple(dict.fromkeys(line.meaning for line in lines if line.meaning))

    @property
    def counted(self) -> str:
        """How much of it the driver works without."""
        missing = len(self.lines) - self.to_prove
        return f"{self.to_prove - self.proven} not proven, {missing} not fitted"

    @property
    def verdict(self) -> str:
        """That work can begin, and without what: all of it, for the page that is kept."""
        return " ".join(("You can work.", *self.meanings))

    @property
    def bar(self) -> str:
        """The same in one line above the names: the first, and how many more."""
        if len(self.meanings) < 2:
            return self.verdict
        return f"You can work. {self.meanings[0]} And {len(self.meanings) - 1} more."


def sheet(rig: Rig, evidence: Evidence) -> Sheet:
    """The sheet of a rig and what was proven on it."""
    lines = [
        _receiver(rig, evidence),
        _switch(rig, evidence),
        *_sensors(rig, evidence, "depth"),
        *_sensors(rig, evidence, "spring"),
        _wheel(rig),
        _sound(evidence),
        _screen(evidence, rig.units),
        _lengths(rig, evidence),
        _bench(evidence),
    ]
    width = _length(rig.tool.width_m, rig.units)
    return Sheet(
        title="Sign-off sheet",
        machine=f"{rig.name}: {len(rig.tool.shanks)} shanks, {width}",
        lines=tuple(lines),
        limits=refusals(rig),
        fitted_by=evidence.fitted_by,
        seen_by=evidence.seen_by,
        signed_on=evidence.signed_on,
    )


def _receiver(rig: Rig, evidence: Evidence) -> Line:
    """Two proofs that are both needed: still at rest, and true to a tape."""
    course, rest = evidence.course, evidence.receiver
    how, left = [], []
    if course is None:
        how.append("No taped course was driven")
    else:
        length = _length(course.taped_m, rig.units)
        how.append(f"Drove {length} by tape, off by {100 * course.off_share:.1f} %")
    if course is None or not course.holds:
        left.append("Speed and area were not checked against a tape.")
    if rest is None:
        how.append("Not watched at rest")
    else:
        unit = shown_unit("speed", rig.units)
        often = f"{rest.rate_hz:g} a second, {FIX_WORDS[rest.fix]}"
        how.append(f"{often}, at rest up to {to_unit(rest.rest_most_mps, unit):.2f} {unit}")
    if rest is None or not rest.holds(rig.receiver.standing_below_mps):
        left.append("Standing and moving off may be told late.")
    standing = Standing.NOT_PROVEN if left else Standing.PROVEN
    return Line("Receiver", ". ".join(how), standing, " ".join(left))


def _switch(rig: Rig, evidence: Evidence) -> Line:
    meaning = "Tool up or down is told by speed and turns."
    if rig.sensor("tool_down") is None:
        return Line("Tool switch", "", Standing.NOT_FITTED, meaning)
    switch = evidence.switch
    if switch is None:
        return Line(
            "Tool switch", "Nobody watched it change", Standing.NOT_PROVEN,
            "The tool switch was not watched.",
        )  # fmt: skip
    how = f"{switch.seen} of {switch.made} changes went with the tool"
    if switch.holds:
        return Line("Tool switch", how, Standing.PROVEN)
    return Line("Tool switch", how, Standing.NOT_PROVEN, "The tool switch cannot be relied on.")


# Family: what the driver lives without where it is not fitted, not calibrated, and not proven.
MEANINGS = {
    "depth": (
        "Depth comes from digging.",
        "A depth sensor that is not calibrated reads nothing.",
        "A live depth that is not proven in soil may mislead.",
    ),
    "spring": (
        "Spring loads are not measured.",
        "Spring loads stay unknown until a trip is seen.",
        "A spring load that is not proven may mislead.",
    ),
}


def _sensors(rig: Rig, evidence: Evidence, family: str) -> list[Line]:
    fitted = rig.fitted(family)
    absent, unread, unproven = MEANINGS[family]
    if not fitted:
        return [Line(family.capitalize(), "", Standing.NOT_FITTED, absent)]
    lines = [
        _sensor(s, evidence.proof_of(s.channel), unread if s.curve is None else unproven)
        for s in fitted
    ]
    return _gathered(lines, family) if len(lines) > 4 else lines


def standing_of(sensor: Sensor, evidence: Evidence) -> Standing:
    """What the sheet says of one depth sensor or spring."""
    return _sensor(sensor, evidence.proof_of(sensor.channel), "").standing


def _sensor(sensor: Sensor, proof: SensorProof | None, unproven: str) -> Line:
    words = sensor_words(sensor)
    if sensor.trusted and sensor.curve is None:
        return Line(
            words, "Its node says it calibrates itself", Standing.TRUSTED,
            f"{words}: its node's own figure is taken unchecked.",
        )  # fmt: skip
    if sensor.curve is None:
        how = proof.how if proof else "Not calibrated"
        return Line(words, how, Standing.NOT_PROVEN, unproven)
    if proof is None or proof.curve is None or not _same_curve(proof, sensor):
        made = f"Curve of {sensor.curve.made or 'unknown date'}, no proof kept here"
        return Line(words, made, Standing.NOT_PROVEN, unproven)
    if proof.verdict is Verdict.PROVEN:
        return Line(words, proof.how, Standing.PROVEN)
    left = ". ".join(proof.unproven)
    return Line(words, f"{proof.how}. {left}", Standing.NOT_PROVEN, unproven)


def _same_curve(proof: SensorProof, sensor: Sensor) -> bool:
    """The proof speaks for the curve in the rig file, and for the sensor with that serial."""
    if proof.curve is None or sensor.curve is None or proof.serial != sensor.serial:
        return False
    one, other = proof.curve, sensor.curve
    return (one.kind, one.coefficients, one.knots, one.offset) == (
        other.kind,
        other.coefficients,
        other.knots,
        other.offset,
    )


def _gathered(lines: list[Line], family: str) -> list[Line]:
    """Many sensors of one kind in one line a standing, counted, each named if it is not proven."""
    gathered = []
    for standing in Standing:
        same = [line for line in lines if line.standing is standing]
        if not same:
            continue
        name = f"{family.capitalize()}s, {len(same)} of {len(lines)}"
        how = same[0].how if standing in GOOD else _names_and_how(same)
        meaning = " ".join(dict.fromkeys(line.meaning for line in same if line.meaning))
        if standing is Standing.TRUSTED:
            meaning = f"{family.capitalize()}s: their node's own figures are taken unchecked."
        gathered.append(Line(name, how, standing, meaning))
    return gathered


def _names_and_how(lines: list[Line]) -> str:
    """``Spring 2, Spring 5: Lifted is 0, no trip seen yet``, one part for each different how."""
    by_how: dict[str, list[str]] = {}
    for line in lines:
        by_how.setdefault(line.how, []).append(line.what)
    if len(by_how) == 1:
        return next(iter(by_how))
    return "; ".join(f"{', '.join(names)}: {how}" for how, names in by_how.items())


def _wheel(rig: Rig) -> Line:
    sensor = rig.sensor("wheel_speed")
    if sensor is None:
        return Line("Wheel speed", "", Standing.NOT_FITTED, "Slip is not measured.")
    if sensor.curve is None and not sensor.trusted:
        return Line("Wheel speed", "Not calibrated", Standing.NOT_PROVEN, "Slip is not judged.")
    return Line(
        "Wheel speed", "Its node's own figure", Standing.TRUSTED, "Slip rests on the wheel's word."
    )


def _sound(evidence: Evidence) -> Line:
    sound = evidence.sound
    if sound is not None and sound.holds:
        loud = f"at {100 * sound.first:.0f} %, then {100 * sound.stepped:.0f} %"
        return Line("Sounds", f"Heard and told apart in the running cab, {loud}", Standing.PROVEN)
    how = "Not heard in the running cab"
    if sound is not None and not sound.engine_running:
        how = "Heard with the engine off only"
    return Line("Sounds", how, Standing.NOT_PROVEN, "An alert may not be heard.")


def _screen(evidence: Evidence, units: UnitSystem) -> Line:
    screen = evidence.screen
    meaning = "Figures may be too small to read from the seat."
    if screen is None or not screen.ruler_held:
        return Line("Screen", "No ruler was held against it", Standing.NOT_PROVEN, meaning)
    unit = "in" if units is UnitSystem.US else "cm"
    eye = f"{to_unit(screen.eye_mm / 1000, unit):.0f} {unit}"
    if screen.holds:
        return Line("Screen", f"Measured, read at {eye}", Standing.PROVEN)
    how = f"Read at {eye}, beyond its rule" + (", signed for" if screen.signed_beyond else "")
    return Line("Screen", how, Standing.NOT_PROVEN, meaning)


def _lengths(rig: Rig, evidence: Evidence) -> Line:
    width = _length(rig.tool.width_m, rig.units)
    reach = _length(rig.tool.hitch_back_m + rig.tool.lag_m, rig.units)
    how = f"{width} wide, receiver to tool {reach}"
    if evidence.lengths_taped:
        return Line("Width and lengths", how, Standing.TAPED)
    return Line("Width and lengths", f"{how}: not taped", Standing.NOT_PROVEN, "Area may be off.")


def _bench(evidence: Evidence) -> Line:
    how = f"{evidence.bench_done} of {evidence.bench_all} fired, seen and heard"
    if evidence.bench_all and evidence.bench_done == evidence.bench_all:
        return Line("Alerts", how, Standing.PROVEN)
    if not evidence.bench_all:
        how = "None was fired on the bench"
    return Line("Alerts", how, Standing.NOT_PROVEN, "Not every alert was seen on this tablet.")


def _length(length_m: float, units: UnitSystem) -> str:
    unit = shown_unit("length", units)
    if units is UnitSystem.US:
        return f"{fraction_text(to_unit(length_m, unit), 2)} {unit}"
    return f"{length_m:.2f}".rstrip("0").rstrip(".") + f" {unit}"
