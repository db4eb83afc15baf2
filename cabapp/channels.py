"""One registry of channels: what can be read, in which unit, under which column and wire name."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Family:
    """A kind of channel. Numbered families have one channel per sensor: ``depth1``, ``depth2``.

    ``least``/``most`` bound what is plausible, in SI; a value outside is a wire fault, not news.
    ``jump_per_s`` is the fastest believable change in SI a second, None where steps are normal.
    ``xdr_kind``/``xdr_unit``/``xdr_name`` are what a node sends (NMEA 0183 XDR groups).
    """

    name: str
    words: str
    quantity: str
    unit: str
    decimals: int
    least: float
    most: float
    jump_per_s: float | None = None
    numbered: bool = False
    xdr_kind: str = ""
    xdr_unit: str = ""
    xdr_name: str = ""

    def column(self, number: int | None = None) -> str:
        """The column of the run file for this family's channel, unit in its name."""
        stem = self.name if number is None else f"{self.name}{number}"
        suffix = {"1": "ratio", "m/s": "mps", "deg": "deg", "": "state"}.get(self.unit, self.unit)
        return f"{stem}_{suffix}"


FAMILIES: dict[str, Family] = {
    family.name: family
    for family in (
        Family("speed", "Speed", "speed", "m/s", 3, 0.0, 80 / 3.6),
        Family("course", "Course", "angle", "deg", 1, 0.0, 360.0),
        Family("position", "Position", "place", "", 8, -180.0, 180.0),
        Family("depth", "Depth", "length", "m", 4, -0.60, 0.90, 2.0, True, "D", "M", "DEPTH"),
        # A spring's value is its share of the trip point: 0 hanging free, 1 at the trip.
        Family("spring", "Spring", "ratio", "1", 3, -0.15, 2.5, None, True, "N", "N", "SPRING"),
        Family(
            "tool_down", "Tool switch", "switch", "", 0, 0, 1, xdr_kind="G", xdr_name="TOOLDOWN"
        ),
        Family(
            "wheel_speed",
            "Wheel speed",
            "speed",
            "m/s",
            3,
            0.0,
            80 / 3.6,
            20.0,
            False,
            "G",
            "",
            "WHEELSPEED",
        ),
        Family(
            "radar_speed",
            "Radar speed",
            "speed",
            "m/s",
            3,
            0.0,
            80 / 3.6,
            20.0,
            False,
            "G",
            "",
            "RADARSPEED",
        ),
        Family(
            "hitch", "Hitch position", "ratio", "1", 3, 0.0, 1.0, None, False, "G", "P", "HITCH"
        ),
        Family("reverse", "Reverse gear", "switch", "", 0, 0, 1, xdr_kind="G", xdr_name="REVERSE"),
        Family("key", "Key", "switch", "", 0, 0, 1, xdr_kind="G", xdr_name="KEY"),
    )
}


def split_channel(channel: str) -> tuple[str, int | None]:
    """``depth2`` to ("depth", 2), ``speed`` to ("speed", None); KeyError if no such family."""
    stem = channel.rstrip("0123456789")
    digits = channel[len(stem) :]
    family = FAMILIES[stem]
    if family.numbered != bool(digits):
        raise KeyError(channel)
    return stem, int(digits) if digits else None


def family_of(channel: str) -> Family:
    """The family of a channel name; KeyError if there is none."""
    return FAMILIES[split_channel(channel)[0]]


def column_of(channel: str) -> str:
    """The run-file column of a channel; KeyError if there is none."""
    stem, number = split_channel(channel)
    return FAMILIES[stem].column(number)
