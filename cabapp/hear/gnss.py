"""A receiver's sentences to epochs (``Fix``) and to the readings that may be judged."""

from datetime import date, datetime

from cabapp.hear.epochs import NEVER, Epoch, Epochs
from cabapp.hear.lines import Line
from cabapp.hear.plausible import FASTEST_MPS, Calendar, day_beside, place_step, speed_step
from cabapp.hear.sentences import Said, read_sentence
from cabapp.hear.tracks import LONGEST_SILENCE_S, Track
from cabapp.readings import Fix, FixKind, Quality, Reading

COURSE_FROM_MPS = 1.8 / 3.6
COURSE_DOWN_TO_MPS = 1.1 / 3.6
SETTLING_S = 2.0  # absurd speeds and places come within seconds of a fix that was lost
KIND_KEPT_S = 5.0  # some receivers send GGA only every few RMC

Judged = tuple[Quality, str]


class Gnss:
    """One receiver's wire, sentence by sentence. Pure but for what it remembers; never raises.

    ``hear`` takes checked lines in order and gives the epochs they complete; ``readings`` says
    what is known now of "speed" (m/s), "course" (true degrees) and "position" (its latitude in
    degrees; the last ``Fix`` has both). ``near`` moves dates to the 1024-week era nearest to it.
    """

    def __init__(self, near: date | None = None) -> None:
        self._calendar = Calendar(near)
        self._epochs = Epochs()
        self._speed: Track[float] = Track(speed_step)
        self._place: Track[tuple[float, float]] = Track(place_step)
        self._zda: Said | None = None
        self._fix_data: tuple[Said, float] | None = None
        self._first_at: float | None = None
        self._denied_at = self._settled_at = NEVER
        self._lost = False
        self._course_on = False

    @property
    def period_s(self) -> float | None:
        """The learned time between speeds in seconds, None before two of them."""
        return self._speed.pace.period_s

    def hear(self, line: Line) -> tuple[Fix, ...]:
        """The epochs that this sentence completes: none or one, two if an older one was open."""
        if line.kind == "VTG" and self._epochs.rmc_has_spoken:
            return ()
        said = read_sentence(line.kind, line.text)
        if said is None:
            return ()
        if self._first_at is None:
            self._first_at = line.at
        if said.kind == "ZDA":
            self._zda = said
            return ()
        if said.has_fix is False:
            self._denied_at = line.at
        if said.kind in ("GGA", "GNS"):
            self._fix_data = said, line.at
        whole = self._epochs.add(said, line.at)
        return tuple(self._give(epoch) for epoch in whole) if whole else ()

    def finish(self) -> tuple[Fix, ...]:
        """Give out an epoch still open: at the end of a log, or when the wire is gone."""
        return tuple(self._give(epoch) for epoch in self._epochs.finish())

    def readings(self, now: float) -> tuple[Reading, Reading, Reading]:
        """Speed, course and position as known at ``now``: a value only where it is good."""
        if self._first_at is None:
            self._first_at = now
        speed = self._speed_now(now)
        return speed, self._course_now(speed), self._position_now(now)

    # The fix: what the epoch says, and what of it may be judged.

    def _give(self, epoch: Epoch) -> Fix:
        at = epoch.at
        has_fix, cause = self._claim(epoch)
        usable = has_fix and not _is_starved(epoch)
        self._settle(usable, at)
        place, told = epoch.place(), epoch.told()
        lat = place.lat_deg if place and has_fix else None
        lon = place.lon_deg if place and has_fix else None
        speed = told.speed_mps if told and has_fix else None
        course = told.course_deg if told and has_fix else None
        if not usable:
            speed_judged = place_judged = course_judged = (Quality.NO_FIX, cause)
            self._course_on = False
        else:
            speed_judged = self._judge_speed(told, epoch)
            place_judged = self._judge_place(place, epoch)
            course_judged = self._judge_course(speed, speed_judged, course)
        day = epoch.rmc.day if epoch.rmc else None
        data = self._data(epoch)
        fix = Fix(
            at,
            self._utc(day, epoch.time_s, has_fix, at),
            epoch.time_s,
            lat,
            lon,
            speed,
            course,
            self._kind(epoch, usable),
            speed_judged[0],
            place_judged[0],
            course_judged[0],
            speed_judged[1],
            data.satellites if data else None,
            data.hdop if data else None,
        )
        self._remember(fix)
        return fix

    def _claim(self, epoch: Epoch) -> tuple[bool, str]:
        """Whether the receiver claims a fix that we accept, and if not, why not."""
        data, rmc = epoch.fix_data, epoch.rmc
        if rmc is not None:
            # Before NMEA 2.3 RMC had no mode: then GGA alone tells a simulated or reckoned fix.
            unsaid = rmc.fix_kind is None and data is not None and data.no_fix_cause != "sky"
            denied = data if unsaid else rmc
            assert denied is not None
            return bool(rmc.has_fix) and not unsaid, denied.no_fix_cause
        claims = [
            s for s in (epoch.vtg, data, epoch.gll) if s is not None and s.has_fix is not None
        ]
        if not claims and self._fix_data and epoch.at - self._fix_data[1] <= LONGEST_SILENCE_S:
            claims = [self._fix_data[0]]
        denials = [one for one in claims if not one.has_fix]
        return bool(claims) and not denials, denials[0].no_fix_cause if denials else "sky"

    def _settle(self, has_fix: bool, at: float) -> None:
        if has_fix and self._lost:
            self._settled_at = at + SETTLING_S
        self._lost = not has_fix

    def _judge_speed(self, told: Said | None, epoch: Epoch) -> Judged:
        if told is None or told.speed_mps is None:
            bad = told is not None and told.bad_speed
            return (Quality.IMPLAUSIBLE, "") if bad else (Quality.SILENT, "no_speed_sent")
        if told.speed_mps > FASTEST_MPS:
            return Quality.IMPLAUSIBLE, ""
        if not self._speed.believes(told.speed_mps, epoch):
            return Quality.IMPLAUSIBLE, ""
        return self._unless_settling(epoch.at)

    def _judge_place(self, place: Said | None, epoch: Epoch) -> Judged:
        if place is None:
            return Quality.SILENT, ""
        if place.lat_deg is None or place.lon_deg is None:
            return Quality.IMPLAUSIBLE, ""
        if not self._place.believes((place.lat_deg, place.lon_deg), epoch):
            return Quality.IMPLAUSIBLE, ""
        return self._unless_settling(epoch.at)

    def _unless_settling(self, at: float) -> Judged:
        if at < self._settled_at:
            return Quality.WITHHELD, "settling"
        return Quality.GOOD, ""

    def _judge_course(self, speed: float | None, judged: Judged, course: float | None) -> Judged:
        if judged[0] is not Quality.GOOD or speed is None:
            return (Quality.WITHHELD if judged[0] is Quality.GOOD else judged[0]), judged[1]
        limit = COURSE_DOWN_TO_MPS if self._course_on else COURSE_FROM_MPS
        self._course_on = speed >= limit
        if not self._course_on:
            return Quality.WITHHELD, "crawl"
        return (Quality.SILENT, "") if course is None else (Quality.GOOD, "")

    def _utc(
        self, day: date | None, time_s: float | None, has_fix: bool, at: float
    ) -> datetime | None:
        if not has_fix:
            return self._calendar.without_fix(time_s, at)
        zda = self._zda
        if day is None and zda is not None and time_s is not None:
            day = day_beside(zda, time_s)
        return self._calendar.with_fix(day, time_s, at)

    def _data(self, epoch: Epoch) -> Said | None:
        """The GGA or GNS of this epoch, else of one not long ago."""
        if epoch.fix_data is not None:
            return epoch.fix_data
        if self._fix_data and epoch.at - self._fix_data[1] <= KIND_KEPT_S:
            return self._fix_data[0]
        return None

    def _kind(self, epoch: Epoch, has_fix: bool) -> FixKind:
        data, told = self._data(epoch), epoch.rmc or epoch.vtg
        kinds = [said.fix_kind for said in (data, told) if said and said.fix_kind]
        if not has_fix:
            return FixKind.ESTIMATED if FixKind.ESTIMATED in kinds else FixKind.NONE
        usable = [kind for kind in kinds if kind not in (FixKind.NONE, FixKind.ESTIMATED)]
        return usable[0] if usable else FixKind.PLAIN

    def _remember(self, fix: Fix) -> None:
        if fix.speed_quality is not Quality.SILENT:
            self._speed.last = fix
        if fix.position_quality is not Quality.SILENT:
            self._place.last = fix

    # The readings: what is known now.

    def _speed_now(self, now: float) -> Reading:
        fix = self._speed.last
        if fix is None or self._speed.is_silent(now):
            quality, cause = self._unheard(fix, now)
            place = self._place.last
            later = place is not None and (fix is None or place.at > fix.at)
            if quality is Quality.SILENT and later and not self._place.is_silent(now):
                cause = "no_speed_sent"
            return Reading("speed", None, now if fix is None else fix.at, quality, cause)
        return _reading("speed", fix.speed_mps, fix.at, fix.speed_quality, fix.cause)

    def _course_now(self, speed: Reading) -> Reading:
        fix = self._speed.last
        if speed.quality is not Quality.GOOD or fix is None:
            return Reading("course", None, speed.at, speed.quality, speed.cause)
        cause = "crawl" if fix.course_quality is Quality.WITHHELD else ""
        return _reading("course", fix.course_deg, fix.at, fix.course_quality, cause)

    def _position_now(self, now: float) -> Reading:
        fix = self._place.last
        if fix is None or self._place.is_silent(now):
            quality, cause = self._unheard(fix, now)
            return Reading("position", None, now if fix is None else fix.at, quality, cause)
        return _reading("position", fix.lat_deg, fix.at, fix.position_quality, fix.cause)

    def _unheard(self, last: Fix | None, now: float) -> Judged:
        """Why nothing is known: just begun, the receiver denies a fix, its time stands, silence."""
        if now - self._denied_at <= LONGEST_SILENCE_S:
            return Quality.NO_FIX, "sky"
        if last is not None and now - self._epochs.repeat_at <= LONGEST_SILENCE_S:
            return Quality.FROZEN, "time_stands"
        if (
            last is None
            and self._first_at is not None
            and now - self._first_at <= LONGEST_SILENCE_S
        ):
            return Quality.STARTING, ""
        return Quality.SILENT, "receiver_plug"


def _is_starved(epoch: Epoch) -> bool:
    """A fix claimed by GGA from no satellites at all, with no RMC to vouch for it.

    Such receivers send speed 0.00 before they know anything: that is not standing.
    """
    data = epoch.fix_data
    return epoch.rmc is None and data is not None and data.satellites == 0


def _reading(channel: str, value: float | None, at: float, quality: Quality, cause: str) -> Reading:
    good = quality is Quality.GOOD
    return Reading(channel, value if good else None, at, quality, "" if good else cause)
