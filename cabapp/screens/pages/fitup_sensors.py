"""Sensors: raw and converted side by side, least and most since reset, and new names heard."""

import re
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from cabapp.channels import FAMILIES, family_of
from cabapp.fitup.edits import add_sensor, change_sensor, next_channel, remove_sensor
from cabapp.fitup.findings import Measure
from cabapp.fitup.heard import Heard
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.fitup.sensors import SensorRow, sensor_rows, sensor_words
from cabapp.readings import Quality
from cabapp.rig import Rig, Sensor
from cabapp.rigbounds import BOUNDS
from cabapp.screens.pages.fitup_asks import AskChoice, AskFigure, AskName, plate
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.theme import Role
from cabapp.units import UnitSystem, shown_unit

PITCH = 64.0
WHY = {
    Quality.GOOD: "",
    Quality.SILENT: "silent",
    Quality.WIRE_FAULT: "wire fault",
    Quality.NOT_CALIBRATED: "to calibrate",
}
OWN_FIGURE = {"D": "depth", "N": "spring"}


def unknown_names(heard: tuple[Heard, ...], rig: Rig) -> tuple[Heard, ...]:
    """What nodes send and no sensor of the rig takes: bounds and line counters aside."""
    taken = {(s.port, s.wire_name) for s in rig.sensors}
    names = {(h.port, h.name) for h in heard}
    return tuple(
        h
        for h in heard
        if h.kind
        and h.name
        and h.name != "SEQ"
        and (h.port, h.name) not in taken
        and not (h.name.endswith(("MAX", "MIN")) and (h.port, h.name[:-3]) in names)
    )


def family_by_name(name: str) -> str:
    """The family a wire name speaks of, "" if it says nothing."""
    stem = re.sub(r"\d+$", "", name)
    return next((f.name for f in FAMILIES.values() if f.xdr_name and f.xdr_name == stem), "")


def new_sensor(rig: Rig, heard: Heard, family: str) -> Sensor | str:
    """The row for a name just heard, or the sentence that says why not yet."""
    kind = FAMILIES[family]
    number = re.search(r"\d+$", heard.name)
    wanted = f"{family}{number[0]}" if kind.numbered and number else family
    taken = {s.channel for s in rig.sensors}
    channel = next_channel(rig, family) if kind.numbered and wanted in taken | {family} else wanted
    carried = "switch" if kind.quantity == "switch" else "V" if heard.unit == "V" else "si"
    sensor = Sensor(channel, heard.name, heard.port, carried)
    if family == "depth":
        return replace(sensor, back_m=rig.tool.lag_m)
    if family != "spring":
        return sensor
    shank, shanks = int(channel.removeprefix("spring")), len(rig.tool.shanks)
    if shank not in {s.number for s in rig.tool.shanks}:
        known = f"shanks 1 to {shanks}" if shanks else "no shanks"
        return f"{heard.name}: the rig has {known}. Type them first, page Tool."
    return replace(sensor, shank=shank)


class SensorsLeaf(Leaf):
    """A row a sensor, fitted ones first, then the names nobody takes yet."""

    page = Page.SENSORS
    start = 0

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
            partial(self.detail, row.channel),
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
            self.detail(made.channel)

    # -- one sensor ----------

    def detail(self, channel: str) -> None:
        """Everything about one sensor that is typed by hand, and where to go with it."""
        sensor = self.work.rig.sensor(channel)
        if sensor is None:
            return
        rows = self._rows(sensor)
        choices = tuple((word, value) for word, value, _ in rows)
        line = f"{sensor.wire_name} on plug {sensor.port}"
        self.shell.put(AskChoice(sensor_words(sensor), line, choices, lambda n: rows[n][2]()))

    def _rows(self, sensor: Sensor) -> list[tuple[str, str, Callable[[], None]]]:
        short = Measure(self.length_unit)
        family = family_of(sensor.channel)
        rows: list[tuple[str, str, Callable[[], None]]] = [
            ("Where it sits", sensor.words or "no word", partial(self._name, sensor, "words")),
            ("Serial", sensor.serial or "none", partial(self._name, sensor, "serial")),
            ("Cable", str(sensor.cable or "no number"), partial(self._cable, sensor)),
        ]
        if family.name == "depth":
            place = (sensor.across_m, sensor.back_m)
            rows += [
                (
                    "Right of middle",
                    short.text(place[0]),
                    partial(self._length, sensor, "across_m"),
                ),
                ("Behind the pin", short.text(place[1]), partial(self._length, sensor, "back_m")),
            ]
        if family.name == "spring":
            trip = "not known" if sensor.trip_n is None else self._force.text(sensor.trip_n)
            rows += [
                ("Shank", str(sensor.shank), partial(self._shank, sensor)),
                ("Trip load", trip, partial(self._trip, sensor)),
            ]
        if family.quantity != "switch":
            own = "its own figure is taken" if sensor.trusted else "needs a calibration"
            rows.append(("Node calibrates itself", own, partial(self._trust, sensor)))
        rows += [
            ("Which one is this", "move it and see", partial(self.shell.go, Page.FIND)),
            ("Not fitted", "take it out of the rig", partial(self._remove, sensor)),
        ]
        return rows

    @property
    def _force(self) -> Measure:
        return Measure("lbf" if self.shell.units is UnitSystem.US else "kN")

    def _set(self, sensor: Sensor, **values: Any) -> str:
        fault = self.work.save(change_sensor(self.work.rig, replace(sensor, **values)))
        if not fault:
            self.detail(sensor.channel)
        return fault

    def _trust(self, sensor: Sensor) -> None:
        self.shell.tell_fault(self._set(sensor, trusted=not sensor.trusted))

    def _name(self, sensor: Sensor, attribute: str) -> None:
        title = "Where it sits" if attribute == "words" else "Serial number"
        line = "As people say it: Left front" if attribute == "words" else "As it is on its label"
        text = getattr(sensor, attribute)
        self.shell.put(
            AskName(
                title, line, lambda typed: self._set(sensor, **self._named(attribute, typed)), text
            )
        )

    def _named(self, attribute: str, text: str) -> dict[str, str]:
        if attribute == "serial":
            return {"serial": text.upper()}
        words = text[:1].lower() + text[1:]
        side = next((side for side in ("left", "right") if side in words.lower()), "")
        return {"words": words.lower(), "side": side}

    def _cable(self, sensor: Sensor) -> None:
        def enter(value: float) -> str:
            least, most = BOUNDS["sensor.cable"]
            if not (value.is_integer() and least <= value <= most):
                return f"A whole number from {least} to {most}, as on the cable's tag."
            return self._set(sensor, cable=int(value))

        self.shell.put(
            AskFigure(
                "Cable number",
                "As on the tag of the cable.",
                enter,
                skip=("No number", lambda: self._drop(sensor, cable=None)),
            )
        )

    def _drop(self, sensor: Sensor, **values: Any) -> None:
        self.shell.tell_fault(self._set(sensor, **values))

    def _length(self, sensor: Sensor, attribute: str) -> None:
        across = attribute == "across_m"
        least, most = BOUNDS[f"sensor.{attribute}"]
        title = "Right of the middle" if across else "Behind the hitch pin"
        line = "Left is less than 0." if across else "From the pin straight back to the sensor."

        def enter(value: float) -> str:
            if not least <= value <= most:
                text = Measure(self.length_unit).text
                bounds = f"{text(least)} to {text(most)}"
                return f"Found {text(value)}, expected {bounds}: mind the unit."
            return self._set(sensor, **{attribute: value})

        self.shell.put(AskFigure(title, line, enter, self.length_units, signed=across))

    def _shank(self, sensor: Sensor) -> None:
        count = len(self.work.rig.tool.shanks)

        def enter(value: float) -> str:
            if not (value.is_integer() and 1 <= value <= count):
                return f"The rig has shanks 1 to {count}: type one of them."
            return self._set(sensor, shank=int(value))

        self.shell.put(AskFigure("Shank", "The shank this spring belongs to.", enter))

    def _trip(self, sensor: Sensor) -> None:
        def enter(value: float) -> str:
            least, most = BOUNDS["sensor.trip_n"]
            if not least <= value <= most:
                text = self._force.text
                return f"Expected {text(least)} to {text(most)}: mind the unit."
            return self._set(sensor, trip_n=value)

        us = self.shell.units is UnitSystem.US
        self.shell.put(
            AskFigure(
                "Trip load",
                "As the maker of the pack gives it.",
                enter,
                ("lbf", "kN") if us else ("kN", "lbf"),
                skip=("Not known", lambda: self._drop(sensor, trip_n=None)),
            )
        )

    def _remove(self, sensor: Sensor) -> None:
        self.shell.save(remove_sensor(self.work.rig, sensor.channel))
        self.shell.again()


def _gathered(refused: list[str]) -> list[str]:
    """``SPRING1, SPRING2: why`` once for each reason."""
    by_reason: dict[str, list[str]] = {}
    for text in refused:
        name, _, reason = text.partition(": ")
        by_reason.setdefault(reason, []).append(name)
    return [f"{', '.join(names)}: {reason}" for reason, names in by_reason.items()]


def _figure(value: float) -> str:
    return f"{value:.3f}" if abs(value) < 100 else f"{value:.0f}"
