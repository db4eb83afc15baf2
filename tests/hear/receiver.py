"""An invented receiver for tests: sentences with checksums at given times."""

from dataclasses import dataclass, field

from cabapp.hear.gnss import Gnss
from cabapp.hear.lines import Lines
from cabapp.readings import Fix, Reading
from tests.sentences import sentence


def clock(time_s: float, decimals: int = 2) -> str:
    whole, part = divmod(round(time_s * 10**decimals), 10**decimals)
    return f"{whole // 3600 % 24:02d}{whole // 60 % 60:02d}{whole % 60:02d}.{part:0{decimals}d}"


def dm(degrees: float, width: int) -> str:
    whole = int(abs(degrees))
    return f"{whole:0{width}d}{(abs(degrees) - whole) * 60:010.7f}"


def rmc(time_s: float | str, kmh: float | str, course: float | str = 90.0, *, status: str = "A",
        mode: str = "A", day: str = "120626", talker: str = "GN", lat: float = 44.05,
        lon: float = -93.2, end: str = "") -> bytes:  # fmt: skip
    at = time_s if isinstance(time_s, str) else clock(time_s)
    knots = kmh if isinstance(kmh, str) else f"{kmh / 1.852:.3f}"
    return sentence(
        f"{talker}RMC,{at},{status},{dm(lat, 2)},{'N' if lat >= 0 else 'S'},"
        f"{dm(lon, 3)},{'E' if lon >= 0 else 'W'},{knots},{course},{day},,,{mode}{end}"
    )


def vtg(kmh: float, course: float = 90.0, *, mode: str = "A", talker: str = "GN") -> bytes:
    return sentence(f"{talker}VTG,{course},T,,M,{kmh / 1.852:.3f},N,{kmh:.3f},K,{mode}")


def gga(time_s: float | str, *, quality: str = "1", talker: str = "GN", satellites: str = "12",
        lat: float = 44.05, lon: float = -93.2) -> bytes:  # fmt: skip
    at = time_s if isinstance(time_s, str) else clock(time_s)
    return sentence(
        f"{talker}GGA,{at},{dm(lat, 2)},{'N' if lat >= 0 else 'S'},{dm(lon, 3)},"
        f"{'E' if lon >= 0 else 'W'},{quality},{satellites},0.7,250.0,M,-30.0,M,,"
    )


def zda(time_s: float, day: int, month: int, year: int) -> bytes:
    return sentence(f"GNZDA,{clock(time_s)},{day:02d},{month:02d},{year},00,00")


@dataclass
class Heard:
    """A receiver's wire played into Gnss: every epoch, and readings when asked."""

    gnss: Gnss = field(default_factory=Gnss)
    fixes: list[Fix] = field(default_factory=list)
    lines: Lines = field(default_factory=Lines)

    def say(self, at: float, *sentences: bytes) -> list[Fix]:
        new = [
            fix for line in self.lines.feed(b"".join(sentences), at) for fix in self.gnss.hear(line)
        ]
        self.fixes += new
        return new

    def now(self, now: float) -> dict[str, Reading]:
        return {reading.channel: reading for reading in self.gnss.readings(now)}
