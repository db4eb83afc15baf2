"""Values out of the tables of a rig file: each checked, each fault gathered, strangers named.

Quantities are typed with their unit ("17 1/2 ft", "5 mph").
"""

from enum import Enum
from typing import TypeVar

from cabapp.rigbounds import WRITTEN, Bounds, bounds_text, fitting, within
from cabapp.rigfault import Fault
from cabapp.units import UnitError, parse_quantity

E = TypeVar("E", bound=Enum)


class Reader:
    """Takes values out of nested tables and gathers faults instead of raising at the first."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def fault(self, key: str, found: object, expected: str, mend: str) -> None:
        self.faults.append(Fault(key, repr(found), expected, mend))

    def table(self, raw: dict[str, object], key: str, path: str) -> "Table":
        value = raw.get(key, {})
        if not isinstance(value, dict):
            self.fault(path, value, "a table", f"write [{path}] and its keys below it")
            value = {}
        return Table(self, value, path)

    def tables(self, raw: dict[str, object], key: str) -> list["Table"]:
        value = raw.get(key, [])
        if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
            self.fault(key, value, "a list of tables", f"write [[{key}]] once for each")
            return []
        return [Table(self, row, f"{key}[{n}]") for n, row in enumerate(value, start=1)]


class Table:
    """One table of the file; every key read is ticked off so that strangers can be named."""

    def __init__(self, reader: Reader, raw: dict[str, object], path: str) -> None:
        self.reader, self.raw, self.path = reader, raw, path
        self.seen: set[str] = set()

    def _take(self, key: str) -> object:
        self.seen.add(key)
        return self.raw.get(key)

    def fault(self, key: str, found: object, expected: str, mend: str) -> None:
        self.reader.fault(f"{self.path}.{key}" if self.path else key, found, expected, mend)

    def text(self, key: str, default: str, *, required: bool = False) -> str:
        value = self._take(key)
        if value is None:
            if required:
                self.fault(key, None, "text", f'write {key} = "..."')
            return default
        if not isinstance(value, str):
            self.fault(key, value, "text", "put it in quotes")
            return default
        return value

    def flag(self, key: str, default: bool) -> bool:
        value = self._take(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            self.fault(key, value, "true or false", "write true or false without quotes")
            return default
        return value

    def whole(self, key: str, default: int | None, least: int, most: int) -> int | None:
        value = self._take(key)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            bounds = f"{least} to {most}" if least < most else f"{least}"
            self.fault(key, value, f"a whole number {bounds}", "correct the number")
            return default
        return value

    def number(self, key: str, default: float, least: float, most: float) -> float:
        value = self._take(key)
        if value is None:
            return default
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or (
                not least <= value <= most  # also refuses nan
            )
        ):
            self.fault(key, value, f"a number {least:g} to {most:g}", "correct the number")
            return default
        return float(value)

    def quantity(
        self, key: str, kind: str, default: float, least: float, most: float, mend: str = ""
    ) -> float:
        value = self.maybe(key, kind, least, most, mend)
        return default if value is None else value

    def maybe(self, key: str, kind: str, least: float, most: float, mend: str = "") -> float | None:
        value = self._take(key)
        if value is None:
            return None
        if not isinstance(value, str):
            expected = f"a {kind} with its unit, in quotes"
            self.fault(key, value, expected, _as(value, kind, (least, most)))
            return None
        try:
            number = parse_quantity(value, kind)
        except UnitError as error:
            self.fault(key, value, f"a {kind}", str(error))
            return None
        if not within(number, (least, most)):
            bounds = bounds_text((least, most), kind)
            self.fault(key, value, bounds, mend or "check the number and its unit")
            return None
        return number

    def choice(self, key: str, kinds: type[E], default: E) -> E:
        value = self._take(key)
        if value is None:
            return default
        names = {member.value: member for member in kinds}
        if value not in names:
            self.fault(key, value, " or ".join(map(repr, names)), "use one of these words")
            return default
        return names[value]

    def numbers(self, key: str) -> tuple[float, ...]:
        value = self._take(key)
        if value is None:
            return ()
        good = isinstance(value, list) and all(
            isinstance(v, int | float) and not isinstance(v, bool) and abs(v) < 1e300 for v in value
        )
        if not good:
            self.fault(key, value, "a list of numbers", "write [1.0, 2.0]")
            return ()
        return tuple(float(v) for v in value)  # type: ignore[attr-defined]

    def pairs(self, key: str) -> tuple[tuple[float, float], ...]:
        value = self._take(key)
        if value is None:
            return ()
        good = isinstance(value, list) and all(
            isinstance(row, list)
            and len(row) == 2
            and all(isinstance(v, int | float) and abs(v) < 1e300 for v in row)
            for row in value
        )
        if not good:
            self.fault(key, value, "a list of [x, y] pairs", "write [[0.5, 0.0], [4.5, 0.4]]")
            return ()
        return tuple((float(x), float(y)) for x, y in value)  # type: ignore[attr-defined]

    def sub(self, key: str) -> "Table":
        self.seen.add(key)
        path = f"{self.path}.{key}" if self.path else key
        return self.reader.table(self.raw, key, path)

    def strangers(self) -> None:
        for key in self.raw:
            if key not in self.seen:
                known = ", ".join(sorted(self.seen))
                self.fault(key, self.raw[key], f"one of: {known}", "remove it or mend its name")


def _as(value: object, kind: str, bounds: Bounds) -> str:
    """``write "5 mph" or "5 km/h"`` for a number that came without its unit.

    In units that fit what is allowed: a width of 4 is more likely metres than inches.
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        return "write a number and its unit in quotes"
    units = [fitting(units, bounds) for units in reversed(WRITTEN[kind])]
    return "write " + " or ".join(f'"{value} {unit}"' for unit in units)
