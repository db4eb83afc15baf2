"""One sensor: where it sits, its serial, cable and place, and the way out of the rig, by hand."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from cabapp.channels import family_of
from cabapp.fitup.edits import change_sensor, remove_sensor, with_trip
from cabapp.fitup.findings import Measure
from cabapp.fitup.geometry import aside_text, taped_text
from cabapp.fitup.pages import Page
from cabapp.fitup.sensors import calibrated_here, sensor_words, wire_of
from cabapp.fitup.springs_view import force_unit
from cabapp.rig import Sensor
from cabapp.rigbounds import BOUNDS
from cabapp.screens.pages.fitup_asks import AskChoice, AskFigure, AskName
from cabapp.screens.pages.fitup_leaf import Leaf


class OneSensor:
    """What stands over the table of sensors when one of them is touched."""

    def __init__(self, leaf: Leaf) -> None:
        self.leaf, self.shell, self.work = leaf, leaf.shell, leaf.work

    def ask(self, channel: str) -> None:
        """Everything about one sensor that is typed by hand, and where to go with it."""
        sensor = self.work.rig.sensor(channel)
        if sensor is None:
            return
        rows = self._rows(sensor)
        choices = tuple((word, value) for word, value, _ in rows)
        line = f"{sensor.wire_name} on plug {sensor.port}"
        self.shell.put(AskChoice(sensor_words(sensor), line, choices, lambda n: rows[n][2]()))

    def _rows(self, sensor: Sensor) -> list[tuple[str, str, Callable[[], None]]]:
        units = self.shell.units
        family = family_of(sensor.channel)
        rows: list[tuple[str, str, Callable[[], None]]] = [
            ("Where it sits", sensor.words or "no word", partial(self._name, sensor, "words")),
            ("Serial", sensor.serial or "none", partial(self._name, sensor, "serial")),
            ("Cable", str(sensor.cable or "no number"), partial(self._cable, sensor)),
        ]
        if family.name == "depth":
            across, back = aside_text(sensor.across_m, units), taped_text(sensor.back_m, units)
            rows += [
                ("From the middle", across, partial(self._length, sensor, "across_m")),
                ("Behind the pin", back, partial(self._length, sensor, "back_m")),
            ]
        if family.name == "spring":
            force = Measure(force_unit(units))
            trip = "not known" if sensor.trip_n is None else force.text(sensor.trip_n)
            rows += [
                ("Shank", str(sensor.shank), partial(self._shank, sensor)),
                ("Trip load", trip, partial(self._trip, sensor)),
            ]
        if family.quantity != "switch":
            own = ("Node calibrates itself", _own(sensor), partial(self._trust, sensor))
            rows.append(own)
        if wire_of(sensor) is not None:
            find = partial(self.shell.go, Page.FIND)
            rows.append(("Which one is this", "move it and see", find))
        rows.append(("Not fitted", "take it out of the rig", partial(self._remove, sensor)))
        return rows

    def _set(self, sensor: Sensor, **values: Any) -> str:
        fault = self.work.save(change_sensor(self.work.rig, replace(sensor, **values)))
        if not fault:
            self.ask(sensor.channel)
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
        title, line = "Behind the hitch pin", "From the pin straight back to the sensor."
        if across:
            title, line = "From the middle", "To the right. Left is less than 0."

        def enter(value: float) -> str:
            if not least <= value <= most:
                text = Measure(self.leaf.length_unit).text
                bounds = f"{text(least)} to {text(most)}"
                return f"Found {text(value)}, expected {bounds}: mind the unit."
            return self._set(sensor, **{attribute: value})

        self.shell.put(AskFigure(title, line, enter, self.leaf.length_units, signed=across))

    def _shank(self, sensor: Sensor) -> None:
        count = len(self.work.rig.tool.shanks)

        def enter(value: float) -> str:
            if not (value.is_integer() and 1 <= value <= count):
                return f"The rig has shanks 1 to {count}: type one of them."
            return self._set(sensor, shank=int(value))

        self.shell.put(AskFigure("Shank", "The shank this spring belongs to.", enter))

    def _trip(self, sensor: Sensor) -> None:
        ask_trip(
            self.leaf,
            sensor,
            lambda: self.ask(sensor.channel),
            skip=("Not known", lambda: self._no_trip(sensor)),
        )

    def _no_trip(self, sensor: Sensor) -> None:
        if not self.shell.tell_fault(save_trip(self.leaf, sensor, None)):
            self.ask(sensor.channel)

    def _remove(self, sensor: Sensor) -> None:
        self.shell.save(remove_sensor(self.work.rig, sensor.channel))
        self.shell.again()


def _own(sensor: Sensor) -> str:
    """What is made of the node's own figure."""
    if sensor.curve is not None:
        return "no: it is calibrated here"
    if sensor.trusted:
        return "its own figure is taken"
    return "needs a calibration" if calibrated_here(sensor) else "touch to take its own figure"


def ask_trip(
    leaf: Leaf,
    sensor: Sensor,
    then: Callable[[], None],
    skip: tuple[str, Callable[[], None]] | None = None,
) -> None:
    """The trip load of a spring's pack, and what comes when it is kept."""
    unit = force_unit(leaf.shell.units)

    def enter(value: float) -> str:
        least, most = BOUNDS["sensor.trip_n"]
        if not least <= value <= most:
            text = Measure(unit).text
            return f"Expected {text(least)} to {text(most)}: mind the unit."
        fault = save_trip(leaf, sensor, value)
        if not fault:
            then()
        return fault

    other = "kN" if unit == "lbf" else "lbf"
    line = "As the maker of the pack gives it. Loads are shown as a share of it."
    leaf.shell.put(AskFigure("Trip load", line, enter, (unit, other), skip=skip))


def save_trip(leaf: Leaf, sensor: Sensor, trip_n: float | None) -> str:
    """On disk; what was proven of the spring in shares of its trip stays proven."""
    work = leaf.work
    made = with_trip(sensor, trip_n)
    if isinstance(made, str):
        return made
    fault = work.save(change_sensor(work.rig, made))
    proof = work.evidence.proof_of(sensor.channel)
    if not fault and proof is not None and proof.curve == sensor.curve:
        fault = work.prove(work.evidence.with_proof(replace(proof, curve=made.curve)))
    return fault
