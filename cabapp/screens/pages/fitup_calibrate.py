"""Calibrate: a sensor's points while they stand still, its curve, what is off, and accepting it."""

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from cabapp.channels import family_of
from cabapp.curve import CurveKind
from cabapp.fitup.calibrate_view import (
    Act,
    Button,
    CalibrateView,
    calibrate_view,
    counted,
)
from cabapp.fitup.edits import accept_curve
from cabapp.fitup.evidence import calibration_proof
from cabapp.fitup.findings import Finding
from cabapp.fitup.pages import MANUAL, PAGES, Page
from cabapp.fitup.plugs import Mark
from cabapp.fitup.points import Approach, Place
from cabapp.fitup.sensors import calibrated_here, sensor_words
from cabapp.fitup.session import CalibrationSession, SessionError
from cabapp.fitup.signoff import Standing, standing_of
from cabapp.fitup.stillness import Look, Stillness
from cabapp.fitup.task import Task, depth_task, force_task
from cabapp.readings import Sample
from cabapp.rig import Rig, Sensor
from cabapp.screens.pages.fitup_asks import AskChoice, AskFigure, Notice, plate
from cabapp.screens.pages.fitup_calibrate_page import KEY, write_session
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.fitup_sensor_one import ask_trip
from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Rect
from cabapp.units import INCH_M, UnitSystem

if TYPE_CHECKING:
    from cabapp.screens.pages.fitup import FitupPage

DEEPEST_M = 14 * INCH_M  # where the rig names no target of its own
BELOW_TARGET_M = 2 * INCH_M  # points should reach this far beyond the target
PLACES = (
    (Place.SHED, "In the shed", "clearance below 0, 0 on concrete, blocks"),
    (Place.SLOT, "Dug slot", "in the field, from the undisturbed surface"),
    (Place.PROOF, "Proof", "kept out of the fit, to test it"),
)
LOADS = ((Place.SHED, "A known load", "weights or a pull scale; 0 hanging free"), PLACES[2])


def task_for(sensor: Sensor, rig: Rig, units: UnitSystem, way: int) -> Task:
    """What a sensor is calibrated to; a spring in newtons, up to its trip where that is known."""
    us = units is UnitSystem.US
    volts = sensor.input == "V"
    if family_of(sensor.channel).name == "depth":
        target = rig.limits.depth_target_m
        deepest = DEEPEST_M if target is None else target + BELOW_TARGET_M
        return depth_task("in" if us else "cm", "V" if volts else "M", deepest, way)
    full = sensor.trip_n or 20_000.0
    return force_task("lbf" if us else "kN", full, "V" if volts else "N", way)


class CalibrateLeaf(Leaf):
    """First which sensor, then its page; every step is on disk before it is shown."""

    page = Page.CALIBRATE

    def __init__(self, shell: "FitupPage") -> None:
        super().__init__(shell)
        self.session: CalibrationSession | None = None
        self.row: int | None = None
        self.start = 0
        self.still = Stillness(0.02)

    # -- which sensor ----------

    def sensors(self) -> tuple[Sensor, ...]:
        """What can be calibrated: all with a wire whose value means a length or a load."""
        return tuple(s for s in self.work.rig.sensors if calibrated_here(s))

    def state(self) -> tuple[Mark, str]:
        depth = [s for s in self.sensors() if family_of(s.channel).name == "depth"]
        if not depth:
            return Mark.TO_DO, "No depth sensor"
        proven = sum(self._on_sheet(s) is Standing.PROVEN for s in depth)
        mark = Mark.DONE if proven == len(depth) else Mark.TO_DO
        return mark, f"Depth: {proven} of {len(depth)} proven"

    def _on_sheet(self, sensor: Sensor) -> Standing:
        """What the sign-off sheet says of it: no other page says more."""
        return standing_of(sensor, self.work.evidence)

    def open(self) -> None:
        self.session = None

    def close(self) -> None:
        self.session = None

    def hear(self, sample: Sample) -> None:
        sensor = self.sensor
        if sensor and (sample.port, sample.name) == (sensor.port, sensor.wire_name):
            self.still.hear(sample.value, sample.at)

    @property
    def sensor(self) -> Sensor | None:
        """The one under calibration."""
        return self.work.rig.sensor(self.session.channel) if self.session else None

    def write(self, paper: Paper) -> None:
        if self.session is None:
            self._write_choice(paper)
        else:
            write_session(self, paper, self.session)

    def turn(self) -> None:
        self.start += self._shown
        self.shell.again()

    @property
    def _shown(self) -> int:
        return 2 * int((self.shell.bottom - 110 - 134 + 14) // (KEY + 14))

    def _write_choice(self, paper: Paper) -> None:
        self.head()
        sensors, rows = self.sensors(), self._shown // 2
        self.start = self.start if self.start < len(sensors) else 0
        wide = (self.shell.right - 24 - 14) / 2
        for n, sensor in enumerate(sensors[self.start : self.start + self._shown]):
            column, row = divmod(n, rows)
            rect = Rect(24 + column * (wide + 14), 134 + row * (KEY + 14), wide, KEY)
            paper.key(
                f"calibrate_{sensor.channel}",
                rect,
                partial(self.begin, sensor.channel),
                sensor_words(sensor),
                self._standing(sensor),
            )
        y = self.shell.bottom - 92
        if not sensors:
            plate(
                paper,
                Rect(24, 134, self.shell.right - 24, 100),
                "No sensor is fitted",
                "Add what the nodes send on page Sensors. Without, depth comes from digging.",
            )
        self.shell.caution(self.words.cautions[-1], 24, y + 20, self.shell.right - 264)
        place = Rect(self.shell.right - 216, y + 2, 216, KEY)
        self.pager(paper, place, self._shown, len(sensors), self.start)

    def _standing(self, sensor: Sensor) -> str:
        kept, fault = self.work.session(sensor.channel)
        if fault:
            return "what was kept cannot be read"
        if kept is not None and kept.steps:
            return f"under way: {counted(kept.rows)}"
        if sensor.curve is not None:
            made = f"accepted {sensor.curve.made}".rstrip()
            return f"{made}, {self._on_sheet(sensor).value}"
        return "its node's own figure" if sensor.trusted else "not calibrated"

    def begin(self, channel: str) -> None:
        """Go on with a sensor's calibration, or begin one."""
        sensor = self.work.rig.sensor(channel)
        if sensor is None:
            return
        if family_of(channel).name == "spring" and sensor.trip_n is None:
            ask_trip(self, sensor, partial(self.begin, channel))  # a load is no share without it
            return
        way = self.work.directions.get(channel, 0)
        kept, fault = self.work.session(channel)
        if fault:
            self.shell.put(
                Notice("Begin anew?", (fault,), ("Begin anew", partial(self._anew, channel)))
            )
            return
        if kept is None:
            task = task_for(sensor, self.work.rig, self.shell.units, way)
            kept = CalibrationSession(channel, sensor.serial, task)
        task = replace(kept.task, expected_slope=way)
        self.session = replace(kept.unconfirmed(), task=task)
        self.still = Stillness(self.session.task.wire.still_span)
        self.row = self._next_row()
        self._ask_safe()
        self.shell.again()

    def _anew(self, channel: str) -> None:
        if not self.shell.tell_fault(self.work.drop(channel)):
            self.begin(channel)

    @property
    def by_loads(self) -> bool:
        """Whether it is a spring: it is loaded, and nothing is dug."""
        return self.session is not None and family_of(self.session.channel).name == "spring"

    @property
    def cautions(self) -> tuple[str, ...]:
        """What is said before the first point."""
        return (*PAGES[Page.SPRINGS].cautions, MANUAL) if self.by_loads else self.words.cautions

    def _ask_safe(self) -> None:
        self.shell.put(
            Notice(
                "Before the first point",
                self.cautions,
                ("Locks in, people clear", self._safe),
                caution=True,
            )
        )

    def _safe(self) -> None:
        if self.session is not None:
            self._keep(self.session.confirm_safety())

    # -- the page ----------

    def look(self) -> Look:
        """The signal as it stands now."""
        return self.still.look(self.work.now)

    def view(self) -> CalibrateView | None:
        """The page as data, None where no sensor is chosen."""
        if self.session is None:
            return None
        approach = self.approach(self.session)
        return calibrate_view(self.session, self.look(), self.row, approach)

    def approach(self, session: CalibrationSession) -> Approach:
        """Which way the chosen row is likely taken next."""
        if self.row is None:
            return Approach.UP
        row = session.rows[self.row - 1]
        return Approach.DOWN if row.signal_of(Approach.UP) is not None else Approach.UP

    # -- what keys do ----------

    def to_choice(self) -> None:
        """Back to which sensor; what was taken is kept."""
        self.session = None
        self.shell.again()

    def choose_row(self, number: int) -> None:
        """Go to a row; touched again, offer what can be done with it."""
        if self.row == number:
            self._row_menu(number)
        self.row = number
        self.shell.again()

    def _row_menu(self, number: int) -> None:
        assert self.session is not None
        choices = (
            ("Type it again", "the known value"),
            ("Take it again", "drop its signals"),
            ("Leave out", "it stays on record"),
        )[: 2 if self.session.rows[number - 1].left_out else 3]
        self.shell.put(AskChoice(f"Point {number}", "", choices, partial(self._row_act, number)))

    def _row_act(self, number: int, n: int) -> None:
        if n == 0:
            self._retype(number)
        else:
            self.act(Button("", (Act.TAKE_AGAIN, Act.LEAVE_OUT)[n - 1], number))

    def _units(self) -> tuple[str, ...]:
        assert self.session is not None
        unit = self.session.task.measure.unit
        others = {"in": "cm", "cm": "in", "lbf": "kN", "kN": "lbf"}
        return (unit, others[unit]) if unit in others else (unit,)

    def _retype(self, number: int) -> None:
        def enter(value: float) -> str:
            assert self.session is not None
            return self._step(self.session.correct(number, value))

        self.shell.put(
            AskFigure(
                f"Point {number}",
                "The value you know, typed again.",
                enter,
                self._units(),
                signed=not self.by_loads,
            )
        )

    def add(self) -> None:
        """Ask for a value that is known, and where."""
        assert self.session is not None
        if not self.session.safe:
            self._ask_safe()
            return
        places = LOADS if self.by_loads else PLACES
        choices = tuple((word, line) for _, word, line in places)
        self.shell.put(
            AskChoice(
                "Where is it known?", "", choices, lambda n: self._type(places[n][0], places[n][1])
            )
        )

    def _type(self, place: Place, word: str) -> None:
        def enter(value: float) -> str:
            assert self.session is not None
            fault = self._step(self.session.open_row(value, place))
            if not fault:
                self.row = len(self.session.rows)
            return fault

        line = "As measured there."
        if place is Place.SHED:
            line = "0 hanging free." if self.by_loads else "Below 0 for a clearance."
        self.shell.put(AskFigure(word, line, enter, self._units(), signed=not self.by_loads))

    def take(self, approach: Approach) -> None:
        """Take the signal as it stands for the chosen row."""
        session, row = self.session, self.row
        if session is None:
            return
        if not session.safe:
            self._ask_safe()
            return
        if row is None:
            self.add()
            return
        try:
            taken = session.take(row, self.look(), approach)
        except SessionError:
            return  # the page says already what the signal does; a shaky finger loses nothing
        if not self._keep(taken):
            return
        if approach is Approach.DOWN:
            self.row = self._next_row() or row
        self.shell.again()

    def _next_row(self) -> int | None:
        assert self.session is not None
        rows = self.session.rows
        waiting = [row.number for row in rows if not row.takes and not row.left_out]
        return waiting[0] if waiting else (rows[-1].number if rows else None)

    def undo(self) -> None:
        """Take the last step back."""
        if self.session is not None and self.session.steps:
            self._keep(self.session.undo())
            self.row = self._next_row()
            self.shell.again()

    def act(self, button: Button) -> None:
        """Do what the verdict offers."""
        session = self.session
        if session is None:
            return
        if button.act is Act.ACCEPT:
            self._accept(session)
        elif button.act is Act.CORRECT:
            self._step(session.correct(button.row, button.value))
        elif button.act is Act.TAKE_AGAIN:
            self._keep(session.empty_row(button.row))
            self.row = button.row
        elif button.act is Act.LEAVE_OUT:
            self._leave_out(session, button.row)
        elif button.act is Act.USE_SHAPE:
            self._keep(session.choose(button.kind or CurveKind.QUADRATIC))
        self.shell.again()

    def _leave_out(self, session: CalibrationSession, number: int) -> None:
        """Said each time: a point that is left out by a stray finger must not go unseen."""
        if not self._keep(session.leave_out(number)):
            return
        known = session.task.measure.text(session.rows[number - 1].known)
        count = counted(session.leave_out(number).rows)
        lines = (f"{known} stays on record, and counts no more.", f"Points: {count}.")
        self.shell.put(
            Notice(f"Point {number} is left out", lines, ("Undo", self.undo), warn=False)
        )

    def _accept(self, session: CalibrationSession) -> None:
        try:
            curve = session.accept(self.work.day, self.work.evidence.fitted_by)
        except SessionError as error:
            self.shell.tell_fault(str(error))
            return
        if not self.shell.save(accept_curve(self.work.rig, session.channel, curve)):
            return
        sensor = self.work.rig.sensor(session.channel)
        assert sensor is not None
        proof = calibration_proof(sensor, session.rows, session.judged(), session.task.measure)
        if self.shell.tell_fault(self.work.prove(self.work.evidence.with_proof(proof))):
            return
        self.shell.tell_fault(self.work.drop(session.channel))
        witnesses = self.work.witnesses()  # a spring reads by its loads now, not by trips seen
        if witnesses.pop(session.channel, None) is not None:
            self.shell.tell_fault(self.work.keep_witnesses(witnesses))
        self.session = None

    def _step(self, made: CalibrationSession | Finding) -> str:
        if isinstance(made, Finding):
            return f"{made.what}. {made.mend}"
        return "" if self._keep(made) else "Nothing is lost: free the disk and go on."

    def _keep(self, session: CalibrationSession) -> bool:
        """On disk first; what could not be kept is not shown as done."""
        if self.shell.tell_fault(self.work.keep(session), "Not kept"):
            return False
        self.session = session
        self.shell.again()
        return True
