"""The GNSS receiver: what it makes of the truth, and the sentences it sends for each epoch."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from cabapp.rig import Rig
from cabapp.units import KNOT_MPS
from cabapp.world.constants import Constants
from cabapp.world.drive import Motion
from cabapp.world.happening import Kind, Window
from cabapp.world.noise import Floats, Rough, stream
from cabapp.world.place import to_degrees
from cabapp.world.sentences import Columns, letters, number, only, rows_of, sentence, text

SETTLING_S = 2.0  # after a fix returns its speed is wild for about this long


@dataclass(frozen=True)
class Receiver:
    """How the receiver is set: epochs a second, GGA quality, and which sentences it sends."""

    hz: int = 10
    fix_quality: int = 2
    rmc: bool = True
    vtg: bool = True
    gga: bool = True


class Listener:
    """Makes the receiver's bytes for any stretch of its epochs."""

    def __init__(
        self,
        motion: Motion,
        rig: Rig,
        kind: Receiver,
        c: Constants,
        seed: int,
        found: tuple[Window, ...],
        utc: datetime,
    ) -> None:
        self.motion, self.kind, self.c, self.seed = motion, kind, c, seed
        port = rig.receiver.port
        self.found = tuple(w for w in found if w.target in ("", port))
        self.utc = utc
        self._walk = [Rough(stream(seed, "walk", n), c.place_every_s) for n in range(3)]
        self._lag = [Rough(stream(seed, "doppler", n), c.fix_noise_lag_s) for n in range(2)]

    def epochs(self, first: int, count: int) -> tuple[Floats, list[bytes]]:
        """Times at which epochs ``first`` on are fully sent, and the bytes of each."""
        ticks = np.arange(first, first + count)
        receiver_s = ticks / self.kind.hz
        at = receiver_s * (1.0 + self.c.clock_ppm * 1e-6)
        rng = stream(self.seed, "epoch", first)
        east, north = self._velocity(at, rng)
        sent = at + self.c.latency_s + rng.uniform(0.0, self.c.jitter_s, count)
        fixed = ~self._any(Kind.NO_FIX, at)
        columns = self._sentences(receiver_s, at, east, north, fixed, rng)
        return sent, self._worn(rows_of(columns), at, rng)

    def _any(self, kind: Kind, at: Floats) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        inside = np.zeros(len(at), dtype=bool)
        for window in self.found:
            if window.kind is kind:
                inside |= window.mask(at)
        return inside

    def _velocity(self, at: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """Doppler velocity: the truth a little late, coloured noise, and spikes after a fix."""
        m, c = self.motion, self.c
        late = at - c.filter_s
        speed = np.interp(late, m.t_s, m.speed_mps)
        # Headings wrap, so their sine and cosine are looked up instead.
        heading = np.radians(m.heading_deg)
        east = speed * np.interp(late, m.t_s, np.sin(heading))
        north = speed * np.interp(late, m.t_s, np.cos(heading))
        sd = np.where(np.abs(speed) < 0.05, c.rest_noise_mps, c.fix_noise_mps)
        east = east + sd * (0.8 * self._lag[0].at(at) + 0.6 * rng.standard_normal(len(at)))
        north = north + sd * (0.8 * self._lag[1].at(at) + 0.6 * rng.standard_normal(len(at)))
        for window in self.found:
            if window.kind is Kind.NO_FIX:
                since = at - window.end_s
                wild = (since >= 0.0) & (since < SETTLING_S)
                east = east + wild * c.refix_spike_mps * np.exp(-2.0 * np.maximum(since, 0.0))
            elif window.kind is Kind.SPEED_SPIKE:
                east = east + window.mask(at) * window.size
        return east, north

    def _sentences(
        self,
        receiver_s: Floats,
        at: Floats,
        east: Floats,
        north: Floats,
        fixed: np.ndarray[tuple[int], np.dtype[np.bool_]],
        rng: np.random.Generator,
    ) -> list[Columns]:
        rows, kind = len(at), self.kind
        speed = np.where(fixed, np.hypot(east, north), np.nan)
        course = np.degrees(np.arctan2(east, north)) % 360.0
        course = np.where(course > 359.994, 0.0, course)
        course = np.where(speed >= self.c.course_least_mps, course, np.nan)
        lat, lon, height = self._place(at, rng)
        clock, date = _clock(self.utc, receiver_s)
        where = _where(np.where(fixed, lat, np.nan), np.where(fixed, lon, np.nan), fixed)
        comma = text(",", rows)
        mode = letters(fixed, "D" if kind.fix_quality == 2 else "A", "N")
        rmc = [text("GNRMC,", rows), clock, comma, letters(fixed, "A", "V"), comma, where, comma]
        rmc += [number(speed / KNOT_MPS, 3), comma, number(course, 2), comma, date]
        rmc += [text(",,,", rows), mode, text(",V", rows)]
        quality = np.where(fixed, kind.fix_quality, 0).astype(np.float64)
        seen = np.where(fixed, 17.0 + np.round(2.0 * self._walk[2].at(at)), 3.0)
        gga = [text("GNGGA,", rows), clock, comma, where, comma, number(quality), comma]
        gga += [number(seen, whole=2), comma, number(np.where(fixed, 0.7, 9.9), 1), comma]
        gga += [number(np.where(fixed, 180.0 + height, np.nan), 2), text(",M,42.0,M,,", rows)]
        vtg = [text("GNVTG,", rows), number(course, 2), text(",T,,M,", rows)]
        vtg += [number(speed / KNOT_MPS, 3), text(",N,", rows), number(speed * 3.6, 3)]
        vtg += [text(",K,", rows), mode]
        chosen = ((kind.rmc, rmc), (kind.gga, gga), (kind.vtg, vtg))
        return [sentence(parts) for wanted, parts in chosen if wanted]

    def _place(self, at: Floats, rng: np.random.Generator) -> tuple[Floats, Floats, Floats]:
        m, c = self.motion, self.c
        noise = c.place_noise_m * rng.standard_normal((2, len(at)))
        x = np.interp(at, m.t_s, m.x_m) + c.place_wander_m * self._walk[0].at(at) + noise[0]
        y = np.interp(at, m.t_s, m.y_m) + c.place_wander_m * self._walk[1].at(at) + noise[1]
        lat, lon = to_degrees(x, y)
        return lat, lon, 1.5 * c.place_wander_m * self._walk[2].at(at)

    def _worn(self, rows: list[bytes], at: Floats, rng: np.random.Generator) -> list[bytes]:
        """Bytes as a poor cable delivers them, where a scenario says so."""
        for window in self.found:
            if window.kind is Kind.LINE_NOISE:
                for n in np.flatnonzero(window.mask(at)):
                    rows[n] = _noisy(rows[n], window.size, rng)
        return rows


def _noisy(data: bytes, share: float, rng: np.random.Generator) -> bytes:
    raw = np.frombuffer(data, dtype=np.uint8).copy()
    wrong = rng.random(len(raw)) < share
    raw[wrong] = rng.integers(0, 256, int(wrong.sum()))
    return raw.tobytes()


def _where(lat: Floats, lon: Floats, fixed: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> Columns:
    rows = len(lat)
    north = only(letters(np.nan_to_num(lat) >= 0.0, "N", "S"), fixed)
    east = only(letters(np.nan_to_num(lon) >= 0.0, "E", "W"), fixed)
    comma = text(",", rows)
    return np.hstack([_minutes(lat, 2), comma, north, comma, _minutes(lon, 3), comma, east])


def _minutes(degrees: Floats, whole: int) -> Columns:
    """Degrees and minutes run together, seven decimals of a minute; empty for NaN."""
    known = np.nan_to_num(np.abs(degrees))
    units = np.rint(known * 60.0 * 1e7).astype(np.int64)
    joined = units // 600_000_000 * 100 + units % 600_000_000 / 1e7
    return number(np.where(np.isfinite(degrees), joined, np.nan), 7, whole + 2)


def _clock(start: datetime, after_s: Floats) -> tuple[Columns, Columns]:
    """hhmmss.ss and ddmmyy of each epoch."""
    midnight = start.replace(hour=0, minute=0, second=0, microsecond=0)
    hundredths = np.rint(((start - midnight).total_seconds() + after_s) * 100.0).astype(np.int64)
    days, rest = np.divmod(hundredths, 8_640_000)
    hours, rest = np.divmod(rest, 360_000)
    minutes, rest = np.divmod(rest, 6_000)
    stamp = hours * 10_000.0 + minutes * 100.0 + rest / 100.0
    dates = {int(day): midnight + timedelta(days=int(day)) for day in np.unique(days)}
    figures = {day: float(f"{date:%d%m%y}") for day, date in dates.items()}
    return number(stamp, 2, 6), number(np.array([figures[int(day)] for day in days]), 0, 6)
