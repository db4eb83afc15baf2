"""Sensors: raw and converted side by side, least and most since reset, and new names heard."""

from functools import partial
from typing import TYPE_CHECKING

from cabapp.channels import FAMILIES, family_of
from cabapp.fitup.edits import add_sensor
from cabapp.fitup.findings import Measure
from cabapp.fitup.heard import Heard
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.fitup.sensors import SensorRow, calibrated_here, sensor_rows
from cabapp.fitup.unfitted import family_by_name, new_sensor, unknown_names
from cabapp.readings import Quality
from cabapp.rig import Sensor
from cabapp.screens.pages.fitup_asks import AskChoice, plate
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.fitup_sensor_one import OneSensor
from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.theme import Role
from cabapp.units import shown_unit

if TYPE_CHECKING:
    from cabapp.screens.pages.fitup import FitupPage

PITCH = 64.0
WHY = {
    Quality.GOOD: "",
    Quality.SILENT: "silent",
    Quality.WIRE_FAULT: "wire fault",
    Quality.NOT_CALIBRATED: "to calibrate",
}
OWN_FIGURE = {"D": "depth", "N": "spring"}


class SensorsLeaf(Leaf):
    """A row a sensor, fitted ones first, then the names nobody takes yet."""

    page = Page.SENSORS
    start = 0

    def __init__(self, shell: "FitupPage") -> None:
        super().__init__(shell)
        self.one = OneSensor(self)

    def unknown(self) -> tuple[Heard, ...]:
        """The names nobody takes."""
        return unknown_names(self.work.ears.all(), self.work.rig)

    def state(self) -> tuple[Mark, str]:
        sensors, new = self.work.rig.sensors, len(self.unknown())
        if new:
            return Mark.TO_DO, f"{len(sensors)} fitted, {new} new heard"
        if not sensors:
            return Mark.TO_DO, "None fitted"
        open_ = sum(s.curve is None and not s.trusted and s.input != "switch" for s in sensors)
        words = f"{len(sensors)} fitted" + (f", {open_} open" if open_ else "")
        return Mark.TO_DO if open_ else Mark.DONE, words

    def turn(self) -> None:
        self.start += self.shown
        self.shell.again()

    @property
    def shown(self) -> int:
        """How many rows fit."""
        return int((self.shell.bottom - 108 - 178) // PITCH)

    @property
    def high(self) -> float:
        """Height of the letters in the table."""
        return 24.0 if self.shell.layout.small else 26.0

    def write(self, paper: Paper) -> None:
        named = [h for h in self.unknown() if family_by_name(h.name)]
        self.head(right=self.shell.right - (416 if named else 208))
        self.shell.side_key(0, "reset", self._reset, "Reset", "least, most")
        if named:
            self.shell.side_key(
                1, "add_all", partial(self._add_all, named), f"Add {len(named)}", "by name"
            )
        wide = self.shell.right - 24
        shares = (0.265, 0.39, 0.52, 0.735) if paper.layout.small else (0.30, 0.46, 0.62, 0.81)
        x = (24.0, *(24 + share * wide for share in shares))
        for place, word in zip(x, ("Sensor", "Raw", "Value", "Least, most", ""), strict=True):
            paper.say(word, place, 164, 22, Role.SOFT, bold=False)
        rows: list[SensorRow | Heard] = [
            *sensor_rows(self.work.rig, self.work.ears, self.work.now),
            *self.unknown(),
        ]
        self.start = self.start if self.start < len(rows) else 0
        for n, row in enumerate(rows[self.start : self.start + self.shown]):
            y = 178 + PITCH * n
            if isinstance(row, SensorRow):
                self._fitted(paper, row, y, x)
            else:
                self._new(paper, row, y, x)
        self._foot(paper, len(rows))

    def _foot(self, paper: Paper, count: int) -> None:
        y, more = self.shell.bottom - 92, count > self.shown
        wide = self.shell.right - 24 - (230 if more else 0)
        if not count:
            plate(
                paper,
                Rect(24, y, wide, 92),
                "No node is heard",
                "A receiver alone is enough to work. Nodes are opened on page Plugs.",
            )
        else:
            self.shell.caution(
                self.words.cautions[0] + " Touch a sensor for its place and number.",
                24,
                y + 20,
                wide,
            )
        place = Rect(self.shell.right - 216, y + 2, 216, 88)
        self.pager(paper, place, self.shown, count, self.start)

    def _fitted(self, paper: Paper, row: SensorRow, y: float, x: tuple[float, ...]) -> None:
        foot, right = y + PITCH / 2 + 12, self.shell.right
        paper.say(row.words, x[0], foot, self.high, limit=x[1] - x[0] - 12)
        self._raw(paper, row.raw, row.unit, row.least, row.most, foot, x)
        good = row.quality is Quality.GOOD
        text = self.converted(row) if good else "–"
        paper.say(text, x[2], foot, self.high, limit=x[3] - x[2] - 10)
        mark = Mark.DONE if good else Mark.TO_DO
        if row.quality in (Quality.SILENT, Quality.WIRE_FAULT):
            mark = Mark.TROUBLE
        self.mark(paper, mark, x[4], foot - 26, 28)
        said = WHY.get(row.quality, row.quality.value) or self._error(row)
        sensor = self.work.rig.sensor(row.channel)
        if row.quality is Quality.NOT_CALIBRATED and sensor and not calibrated_here(sensor):
            said = "not taken"
        paper.say(
            said,
            right,
            foot,
            21,
            Role.SOFT if good else Role.INK,
            not good,
            align="right",
            limit=right - x[4] - 38,
        )
        self.rule(paper, y + PITCH - 2)
        paper.touch(
            f"sensor_{row.channel}",
            Rect(24, y, right - 24, PITCH - 2),
            partial(self.one.ask, row.channel),
        )

    def _new(self, paper: Paper, heard: Heard, y: float, x: tuple[float, ...]) -> None:
        foot, right = y + PITCH / 2 + 12, self.shell.right
        paper.say(heard.name, x[0], foot, self.high, Role.WANTED, limit=x[1] - x[0] - 12)
        self._raw(paper, heard.value, heard.unit, heard.least, heard.most, foot, x)
        self.mark(paper, Mark.TO_DO, x[4], foot - 26, 28)
        paper.say("new", right, foot, 21, align="right", limit=right - x[4] - 38)
        self.rule(paper, y + PITCH - 2)
        paper.touch(
            f"new_{heard.name}", Rect(24, y, right - 24, PITCH - 2), partial(self._choose, heard)
        )

    def _raw(
        self,
        paper: Paper,
        raw: float | None,
        unit: str,
        least: float | None,
        most: float | None,
        foot: float,
        x: tuple[float, ...],
    ) -> None:
        text = "–" if raw is None else f"{_figure(raw)} {unit}".rstrip()
        paper.say(text, x[1], foot, self.high, limit=x[2] - x[1] - 10)
        if least is not None and most is not None:
            bounds = f"{_figure(least)} to {_figure(most)}"
            paper.say(bounds, x[3], foot, 21, Role.SOFT, False, limit=x[4] - x[3] - 10)

    def converted(self, row: SensorRow) -> str:
        """A row's value in the person's units."""
        family = family_of(row.channel)
        if row.converted is None:
            return "–"
        if family.quantity == "switch":
            up, down = ("up", "down") if family.name == "tool_down" else ("off", "on")
            return down if row.converted >= 0.5 else up
        unit = self._unit(family.name)
        return Measure(unit).text(row.converted) if unit else f"{row.converted:.2f}"

    def _unit(self, family: str) -> str:
        units = self.shell.units
        speed = shown_unit("speed", units)
        by = {"depth": self.length_unit, "spring": "%", "wheel_speed": speed, "hitch": "%"}
        return by.get(family, speed if family == "radar_speed" else "")

    def _error(self, row: SensorRow) -> str:
        unit = self._unit(family_of(row.channel).name)
        if row.proven_error is None or not unit:
            return "known"
        trip = (self.work.rig.sensor(row.channel) or Sensor("", "", "")).trip_n or 1.0
        return f"to {Measure(unit).text(row.proven_error / trip)}"

    # -- what keys do ----------

    def _reset(self) -> None:
        self.work.ears.reset()
        self.shell.again()

    def _add_all(self, named: list[Heard]) -> None:
        rig, refused = self.work.rig, []
        for heard in named:
            made = new_sensor(rig, heard, family_by_name(heard.name))
            if isinstance(made, str):
                refused.append(made)
            else:
                rig = add_sensor(rig, made)
        if rig is not self.work.rig and not self.shell.save(rig):
            return
        self.shell.tell_fault("\n".join(_gathered(refused)), "Not all were added")
        self.shell.again()

    def _choose(self, heard: Heard) -> None:
        families = (
            "depth",
            "spring",
            "tool_down",
            "wheel_speed",
            "radar_speed",
            "hitch",
            "reverse",
            "key",
        )
        choices = tuple((FAMILIES[name].words, "") for name in families)
        guess = family_by_name(heard.name) or OWN_FIGURE.get(heard.kind, "")
        chosen = families.index(guess) if guess in families else None
        line = f"On plug {heard.port}: what is it?"
        self.shell.put(
            AskChoice(heard.name, line, choices, partial(self._add, heard, families), chosen)
        )

    def _add(self, heard: Heard, families: tuple[str, ...], n: int) -> None:
        made = new_sensor(self.work.rig, heard, families[n])
        if isinstance(made, str):
            self.shell.tell_fault(made)
        elif self.shell.save(add_sensor(self.work.rig, made)):
            self.one.ask(made.channel)


def _gathered(refused: list[str]) -> list[str]:
    """``SPRING1, SPRING2: why`` once for each reason."""
    by_reason: dict[str, list[str]] = {}
    for text in refused:
        name, _, reason = text.partition(": ")
        by_reason.setdefault(reason, []).append(name)
    return [f"{', '.join(names)}: {reason}" for reason, names in by_reason.items()]


def _figure(value: float) -> str:
    return f"{value:.3f}" if abs(value) < 100 else f"{value:.0f}"
