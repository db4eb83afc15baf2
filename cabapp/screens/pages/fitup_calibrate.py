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
    Drawn,
    Stage,
    TableRow,
    calibrate_view,
)
from cabapp.fitup.edits import accept_curve
from cabapp.fitup.evidence import calibration_proof
from cabapp.fitup.findings import Finding
from cabapp.fitup.pages import UNDER, Page
from cabapp.fitup.plugs import Mark
from cabapp.fitup.points import Approach, Place
from cabapp.fitup.sensors import sensor_words, wire_of
from cabapp.fitup.session import CalibrationSession, SessionError
from cabapp.fitup.stillness import Look, Standing, Stillness
from cabapp.fitup.task import Task, depth_task, force_task
from cabapp.readings import Sample
from cabapp.rig import Rig, Sensor
from cabapp.screens.pages.fitup_asks import AskChoice, AskFigure, Notice, plate
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.fitup_plot import draw_off, draw_plot
from cabapp.screens.pages.paper import GO, PLAIN, QUIET, Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box, round_frame
from cabapp.screens.theme import Role
from cabapp.units import INCH_M, UnitSystem

if TYPE_CHECKING:
    from cabapp.screens.pages.fitup import FitupPage

DEEPEST_M = 14 * INCH_M  # where the rig names no target of its own
BELOW_TARGET_M = 2 * INCH_M  # points should reach this far beyond the target
KEY = 88.0
PLACES = (
    (Place.SHED, "In the shed", "clearance below 0, blocks, 0 on concrete, or weights"),
    (Place.SLOT, "Dug slot", "in the field, from the undisturbed surface"),
    (Place.PROOF, "Proof", "kept out of the fit, to test it"),
)


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
        return tuple(
            s
            for s in self.work.rig.sensors
            if wire_of(s) is not None and family_of(s.channel).name in ("depth", "spring")
        )

    def state(self) -> tuple[Mark, str]:
        depth = [s for s in self.sensors() if family_of(s.channel).name == "depth"]
        if not depth:
            return Mark.TO_DO, "No depth sensor"
        known = sum(s.curve is not None or s.trusted for s in depth)
        return (
            Mark.DONE if known == len(depth) else Mark.TO_DO,
            f"Depth: {known} of {len(depth)}",
        )

    def open(self) -> None:
        self.session = None

    def close(self) -> None:
        self.session = None

    def hear(self, sample: Sample) -> None:
        sensor = self._sensor
        if sensor and (sample.port, sample.name) == (sensor.port, sensor.wire_name):
            self.still.hear(sample.value, sample.at)

    @property
    def _sensor(self) -> Sensor | None:
        return self.work.rig.sensor(self.session.channel) if self.session else None

    def write(self, paper: Paper) -> None:
        if self.session is None:
            self._write_choice(paper)
        else:
            self._write_session(paper, self.session)

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
            taken = sum(bool(row.takes) for row in kept.rows)
            return f"under way: {taken} of {len(kept.rows)} points taken"
        if sensor.curve is not None:
            return f"accepted {sensor.curve.made}".rstrip()
        return "its node's own figure" if sensor.trusted else "not calibrated"

    def begin(self, channel: str) -> None:
        """Go on with a sensor's calibration, or begin one."""
        sensor = self.work.rig.sensor(channel)
        if sensor is None:
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
        self.session = replace(kept, task=replace(kept.task, expected_slope=way))
        self.still = Stillness(self.session.task.wire.still_span)
        self.row = self._next_row()
        if not self.session.safe:
            self._ask_safe()
        self.shell.again()

    def _anew(self, channel: str) -> None:
        self.work.drop(channel)
        self.begin(channel)

    def _ask_safe(self) -> None:
        self.shell.put(
            Notice(
                "Before the first point",
                self.words.cautions,
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
        approach = self._approach(self.session)
        return calibrate_view(self.session, self.look(), self.row, approach)

    def _approach(self, session: CalibrationSession) -> Approach:
        if self.row is None:
            return Approach.UP
        row = session.rows[self.row - 1]
        return Approach.DOWN if row.signal_of(Approach.UP) is not None else Approach.UP

    def _write_session(self, paper: Paper, session: CalibrationSession) -> None:
        view = self.view()
        sensor = self._sensor
        if view is None or sensor is None:
            return
        small = paper.layout.small
        line = f"{sensor.wire_name}, serial {view.serial or 'none'}"
        stages = 5 * 52.0 if small else 4 * 104 + 106.0
        self.shell.head(
            sensor_words(sensor), line, "Back", self._to_choice, right=self.shell.right - stages
        )
        self._stages(paper, view, self.shell.right - stages + 14)
        foot = self.shell.bottom - 104 - 14 - (50 if small else 60)
        table = 430.0 if small else 476.0
        card = 330.0 if small else 290.0
        plot_x = 24 + table + (30 if small else 40)
        plot_wide = self.shell.right - card - (24 if small else 26) - plot_x
        self._table(paper, view, session.task.measure.unit, table, foot)
        self._middle(paper, view, Rect(plot_x, 134, plot_wide, foot - 134))
        self._now(paper, view, Rect(self.shell.right - card, 134, card, foot - 134))
        self._foot(paper, view, session, foot)

    def _stages(self, paper: Paper, view: CalibrateView, x: float) -> None:
        small = paper.layout.small
        lift = 10.0 if small else 0.0
        for n, stage in enumerate(Stage):
            place = x + (52 if small else 104) * n
            here = stage is view.stage
            if here:
                paper.fill(Role.WANTED, round_frame(place - 8, 42 - lift, 50, 50, 4, 6))
            paper.sign("done" if stage in view.done else "to_do", place, 50 - lift, 34)
            if here and small:
                paper.say(stage.value, self.shell.right, 122, 22, align="right")
            elif not small:
                ink = Role.INK if here else Role.SOFT
                paper.say(stage.value, place, 117, 22, ink, here, limit=96)

    def _table(
        self, paper: Paper, view: CalibrateView, unit: str, wide: float, foot: float
    ) -> None:
        shares = (0.17, 0.44, 0.71) if paper.layout.small else (0.27, 0.50, 0.75)
        x = (*(24 + share * wide for share in shares), 24 + wide - 8)
        small = paper.layout.small
        known = f"In {unit}" if small else "Known"
        for place, word in zip(x, (known, "Up", "Down", "Off by"), strict=True):
            paper.say(word, place, 156, 22, Role.SOFT, False, align="right")
        pitch = 58.0
        fits = int((foot - 166) // pitch)
        current = self.row or len(view.rows)
        first = max(0, min(current - fits + 1, len(view.rows) - fits))
        for n, row in enumerate(view.rows[first : first + fits]):
            self._row(paper, row, unit, Rect(24, 168 + pitch * n, wide, pitch - 6), x)
        if not view.rows:
            paper.lines("Touch Add and type the first value you know.", 34, 210, 26, wide - 20, 3)

    def _row(self, paper: Paper, row: TableRow, unit: str, r: Rect, x: tuple[float, ...]) -> None:
        ink = Role.INK
        if row.drawn is Drawn.ODD:
            paper.fill(Role.LOOK, box(r.x, r.y, r.w, r.h))
            paper.fill(Role.INK, round_frame(r.x, r.y, r.w, r.h, 3, 5))
            ink = Role.ON_LOOK
        elif row.drawn is Drawn.NOW:
            paper.fill(Role.WANTED, round_frame(r.x, r.y, r.w, r.h, 3, 5))
        else:
            paper.fill(Role.HAIRLINE, box(r.x, r.bottom + 2, r.w, 2))
        if row.drawn is Drawn.LEFT_OUT:
            ink = Role.SOFT
        foot = r.y + r.h / 2 + 13
        small = paper.layout.small
        shown = "" if small else unit
        wide = paper.say(shown, x[0], foot, 20, ink, False, align="right")
        paper.say(row.known, x[0] - wide - 8, foot, 26, ink, align="right")
        if row.note:
            note = "take now" if small else row.note
            paper.say(note, x[0] + 22, foot, 24, Role.WANTED, limit=r.right - x[0] - 32)
        else:
            paper.say(row.up, x[1], foot, 26, ink, align="right")
            paper.say(row.down, x[2], foot, 26, ink, align="right")
            off = "left out" if row.drawn is Drawn.LEFT_OUT else row.off
            paper.say(
                off, x[3], foot, 26 if row.off else 20, ink, align="right", limit=x[3] - x[2] - 6
            )
        paper.touch(f"row_{row.number}", r, partial(self._choose_row, row.number))

    def _middle(self, paper: Paper, view: CalibrateView, r: Rect) -> None:
        keys = r.bottom - KEY
        off_high = 0.0 if paper.layout.small else 128.0
        plot = Rect(r.x, r.y + 16, r.w, keys - 14 - r.y - 16 - off_high)
        draw_plot(paper, plot, view.plot, view.unit, view.now.unit)
        if off_high:
            paper.say(view.allowed, r.x, plot.bottom + 32, 20, Role.SOFT, False, limit=r.w)
            draw_off(paper, Rect(r.x, plot.bottom + 42, r.w, 78), view.off)
        half = (r.w - 14) / 2
        undo = PLAIN if self.session and self.session.steps else QUIET
        paper.key("undo", Rect(r.x, keys, half, KEY), self._undo, "Undo", look=undo)
        paper.key("add", Rect(r.x + half + 14, keys, half, KEY), self._add, "Add", "a value")

    def _now(self, paper: Paper, view: CalibrateView, r: Rect) -> None:
        now, small = view.now, paper.layout.small
        paper.fill(Role.HAIRLINE, round_frame(r.x, r.y, r.w, r.h, 12, 3))
        x, wide = r.x + 22, r.w - 44
        value_foot = r.y + (54 if small else 108)
        if not small:
            paper.say("Now", x, r.y + 40, 22, Role.SOFT, False)
        unit = paper.say(now.unit, r.right - 22, value_foot, 26, Role.SOFT, False, align="right")
        high = 42 if small or len(now.value) > 6 else 52
        paper.say(now.value or "–", x, value_foot, high, digits=True, limit=wide - unit - 8)
        fit = now.by_fit
        if paper.over.width_of(fit, max(20.0, paper.floor), False) > wide:
            fit = fit.replace(" past points", ", past")
        paper.say(fit, x, value_foot + 34, 20, Role.SOFT, False, limit=wide)
        word = value_foot + (68 if small else 88)
        paper.say(now.word, x, word, 26, limit=wide - 46)
        steady = self.look().standing is Standing.STEADY
        paper.sign("done" if steady else "to_do", r.right - 56, word - 30, 34)
        paper.fill(Role.HAIRLINE, box(x, word + 10, wide, 10))
        if now.filled > 0:
            paper.fill(Role.INK, box(x, word + 10, wide * now.filled, 10))
        if not small:
            paper.say(now.bounds, x, word + 58, 20, Role.SOFT, False, limit=wide)
        self._take_keys(paper, view, r)

    def _take_keys(self, paper: Paper, view: CalibrateView, r: Rect) -> None:
        take = view.now.take.rpartition(",")[0] or "Take"
        for n, approach in enumerate(Approach):
            rect = Rect(r.x + 12, r.bottom - 12 - (2 - n) * KEY - (1 - n) * 12, r.w - 24, KEY)
            likely = self.session is not None and self._approach(self.session) is approach
            look = (GO if likely else PLAIN) if view.now.may_take else QUIET
            paper.key(
                f"take_{approach.value}",
                rect,
                partial(self._take, approach),
                take,
                f"going {approach.value}",
                look=look,
            )

    def _foot(
        self, paper: Paper, view: CalibrateView, session: CalibrationSession, foot: float
    ) -> None:
        right = self.shell.right
        caution = UNDER if family_of(session.channel).name == "depth" else self.words.cautions[-1]
        self.shell.caution(caution, 24, foot + 11, right - 24 - 200, 1)
        paper.say(view.taken, right, foot + 44, 22, Role.SOFT, False, align="right")
        gap = 204.0 if paper.layout.small else 222.0
        y = self.shell.bottom - 104
        headline, line, buttons, refused = self._verdict(view)
        wide = right - 24 - gap * len(buttons)
        plate(paper, Rect(24, y, wide, 104), headline, line, refused)
        for n, button in enumerate(buttons):
            rect = Rect(right - gap * (len(buttons) - n) + 16, y + 8, gap - 16, KEY)
            look = GO if button.act is Act.ACCEPT else PLAIN
            paper.key(
                f"verdict_{n}",
                rect,
                partial(self._act, button),
                button.text,
                look=look,
                high=24 if paper.layout.small else 27,
            )

    def _verdict(self, view: CalibrateView) -> tuple[str, str, tuple[Button, ...], bool]:
        """The signal's own trouble comes before what is said of the points."""
        assert self.session is not None
        unit = self.session.task.wire.unit
        signal = self.still.finding(self.work.now, unit)
        if signal is None and self.look().standing is Standing.SILENT:
            return "Nothing is heard of it", "Check plug, cable and page Plugs.", (), True
        if signal is not None:
            return signal.what, signal.mend, (), True
        if not view.rows and self.session.safe:
            return "Type a value you know", "Clearances under a point are below 0.", (), False
        return view.headline, view.line, view.buttons, view.refused and bool(view.rows)

    # -- what keys do ----------

    def _to_choice(self) -> None:
        self.session = None
        self.shell.again()

    def _choose_row(self, number: int) -> None:
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
        )
        self.shell.put(AskChoice(f"Point {number}", "", choices, partial(self._row_act, number)))

    def _row_act(self, number: int, n: int) -> None:
        if n == 0:
            self._retype(number)
        else:
            self._act(Button("", (Act.TAKE_AGAIN, Act.LEAVE_OUT)[n - 1], number))

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
                signed=True,
            )
        )

    def _add(self) -> None:
        assert self.session is not None
        if not self.session.safe:
            self._ask_safe()
            return
        depth = family_of(self.session.channel).name == "depth"
        places = PLACES if depth else (PLACES[0], PLACES[2])
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

        line = "Below 0 for a clearance." if place is Place.SHED else "As measured there."
        self.shell.put(AskFigure(word, line, enter, self._units(), signed=True))

    def _take(self, approach: Approach) -> None:
        session, row = self.session, self.row
        if session is None:
            return
        if not session.safe:
            self._ask_safe()
            return
        if row is None:
            self._add()
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

    def _undo(self) -> None:
        if self.session is not None and self.session.steps:
            self._keep(self.session.undo())
            self.row = self._next_row()
            self.shell.again()

    def _act(self, button: Button) -> None:
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
            self._keep(session.leave_out(button.row))
        elif button.act is Act.USE_SHAPE:
            self._keep(session.choose(button.kind or CurveKind.QUADRATIC))
        self.shell.again()

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
        self.work.drop(session.channel)
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
