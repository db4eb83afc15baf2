"""A receiver's sentences to epochs (``Fix``) and to the readings that may be judged.

An epoch is one receiver time, whoever on the wire speaks of it. It is given out the moment its
speed is heard: at RMC; at VTG where no RMC comes; at the position where neither comes. Later
sentences of the same time only add to what is known for the next epochs (the kind of fix). A VTG
carries no time and belongs to the last time heard. While it is not yet known whether an RMC will
follow (the first 3 s, or an RMC was lost) an epoch waits for the next one to begin.
"""

from collections import deque
from datetime import date, datetime
from statistics import median

from cabapp.hear.lines import Line
from cabapp.hear.plausible import (
    FASTEST_MPS,
    Calendar,
    TwoSided,
    day_beside,
    place_step,
    seconds_on,
    speed_step,
)
from cabapp.hear.sentences import DAY_S, Said, read_sentence
from cabapp.readings import Fix, FixKind, Quality, Reading

COURSE_FROM_MPS = 1.8 / 3.6
COURSE_DOWN_TO_MPS = 1.1 / 3.6
SETTLING_S = 2.0  # absurd speeds and places come within seconds of a fix that was lost
LONGEST_SILENCE_S = 3.0
SHORTEST_SILENCE_S = 1.5
SILENT_PERIODS = 2.5
KIND_KEPT_S = 5.0  # some receivers send GGA only every few RMC
NEVER = float("-inf")

Judged = tuple[Quality, str]


class _Epoch:
    """The sentences of one receiver time, while they come in."""

    __slots__ = ("at", "fix_data", "given", "gll", "heard", "rmc", "time_s", "vtg")

    def __init__(self, time_s: float | None) -> None:
        self.time_s = time_s
        self.at = 0.0
        self.rmc: Said | None = None
        self.vtg: Said | None = None
        self.fix_data: Said | None = None  # GGA or GNS
        self.gll: Said | None = None
        self.heard: list[tuple[str, str]] = []
        self.given = False

    def add(self, said: Said, at: float) -> None:
        """Keep a sentence; of two talkers the first with a fix counts."""
        self.at = at
        self.heard.append((said.kind, said.talker))
        if said.kind == "RMC":
            self.rmc = _better(self.rmc, said)
        elif said.kind == "VTG":
            self.vtg = _better(self.vtg, said)
        elif said.kind == "GLL":
            self.gll = _better(self.gll, said)
        else:
            self.fix_data = _better(self.fix_data, said)

    def place(self) -> Said | None:
        """Who says where: RMC, else GGA or GNS, else GLL."""
        for said in (self.rmc, self.fix_data, self.gll):
            if said is not None and (said.lat_deg is not None or said.bad_place):
                return said
        return None


def _better(kept: Said | None, said: Said) -> Said:
    return said if kept is None or (said.has_fix and not kept.has_fix) else kept


class Pace:
    """How often something comes, learned from its last steps, and when it counts as silent."""

    __slots__ = ("_steps", "period_s", "silent_after_s")

    def __init__(self) -> None:
        self._steps: deque[float] = deque(maxlen=5)
        self.period_s: float | None = None
        self.silent_after_s = LONGEST_SILENCE_S

    def beat(self, step_s: float) -> None:
        """Learn one step in seconds; gaps of 10 s and more are no pace."""
        if not 0.0 < step_s < 10.0:
            return
        self._steps.append(step_s)
        self.period_s = median(self._steps)
        self.silent_after_s = min(
            max(SHORTEST_SILENCE_S, SILENT_PERIODS * self.period_s), LONGEST_SILENCE_S
        )


class Gnss:
    """One receiver's wire, sentence by sentence. Pure but for what it remembers; never raises.

    ``hear`` takes checked lines in order and gives the epochs they complete; ``readings`` says
    what is known now of "speed" (m/s), "course" (true degrees) and "position" (its latitude in
    degrees; the last ``Fix`` has both). ``near`` moves dates to the 1024-week era nearest to it.
    """

    def __init__(self, near: date | None = None) -> None:
        self._calendar = Calendar(near)
        self._speed_test: TwoSided[float] = TwoSided(speed_step)
        self._place_test: TwoSided[tuple[float, float]] = TwoSided(place_step)
        self._speed_pace, self._place_pace = Pace(), Pace()
        self._epoch: _Epoch | None = None
        self._closed: deque[tuple[float | None, float]] = deque(maxlen=4)
        self._zda: Said | None = None
        self._fix_data: tuple[Said, float] | None = None
        self._talker: tuple[str, float] | None = None  # whose RMC last had a fix, and when
        self._first_at: float | None = None
        self._repeat_at = self._denied_at = self._rmc_at = self._vtg_at = NEVER
        self._settled_at = NEVER
        self._lost = False
        self._course_on = False
        self._last_speed: Fix | None = None  # the last epoch that told or denied a speed
        self._last_place: Fix | None = None
        self._speed_fix: Fix | None = None  # the last with a speed to compare the next one with
        self._place_fix: Fix | None = None

    @property
    def period_s(self) -> float | None:
        """The learned time between speeds in seconds, None before two of them."""
        return self._speed_pace.period_s

    def hear(self, line: Line) -> tuple[Fix, ...]:
        """The epochs that this sentence completes: none or one, two if an older one was open."""
        said = read_sentence(line.kind, line.text)
        if said is None:
            return ()
        if self._first_at is None:
            self._first_at = line.at
        if self._rmc_at == NEVER:  # until shown otherwise, an RMC may follow
            self._rmc_at = self._vtg_at = line.at
        if said.kind == "ZDA":
            self._zda = said
            return ()
        return self._place_in_epoch(said, line.at)

    def finish(self) -> tuple[Fix, ...]:
        """Give out an epoch still open: at the end of a log, or when the wire is gone."""
        fixes, self._epoch = self._close(), None
        return fixes

    def readings(self, now: float) -> tuple[Reading, Reading, Reading]:
        """Speed, course and position as known at ``now``: a value only where it is good."""
        if self._first_at is None:
            self._first_at = now
        return self._speed_now(now), self._course_now(now), self._position_now(now)

    # The epoch: which sentences belong together, and when it is whole.

    def _place_in_epoch(self, said: Said, at: float) -> tuple[Fix, ...]:
        epoch = self._epoch
        closed: tuple[Fix, ...] = ()
        if epoch is None or self._begins_epoch(epoch, said):
            if self._is_late(said, at):
                self._repeat_at = at
                return ()
            closed = self._close(said)
            epoch = self._epoch = _Epoch(said.time_s)
        elif (said.kind, said.talker) in epoch.heard:
            self._repeat_at = at
        epoch.add(said, at)
        self._note(said, at)
        if epoch.given or not self._is_whole(epoch, at):
            return closed
        return (*closed, self._give(epoch))

    def _begins_epoch(self, epoch: _Epoch, said: Said) -> bool:
        if said.time_s is None:
            return (said.kind, said.talker) in epoch.heard
        return said.time_s != epoch.time_s

    def _is_late(self, said: Said, at: float) -> bool:
        """A sentence of a time that is already over: another talker, slower than the first."""
        return said.time_s is not None and any(
            said.time_s == time_s and at - closed_at < LONGEST_SILENCE_S
            for time_s, closed_at in self._closed
        )

    def _note(self, said: Said, at: float) -> None:
        if said.has_fix is False:
            self._denied_at = at
        if said.kind == "RMC":
            self._rmc_at = at
            if said.has_fix:
                self._talker = said.talker, at
        elif said.kind == "VTG":
            self._vtg_at = at
        elif said.kind != "GLL":
            self._fix_data = said, at

    def _is_whole(self, epoch: _Epoch, at: float) -> bool:
        if epoch.rmc is not None:
            return bool(epoch.rmc.has_fix) or not self._another_has_fix(epoch.rmc.talker, at)
        if at - self._rmc_at <= LONGEST_SILENCE_S:
            return False
        return epoch.vtg is not None or at - self._vtg_at > LONGEST_SILENCE_S

    def _another_has_fix(self, talker: str, at: float) -> bool:
        if self._talker is None or self._talker[0] == talker:
            return False
        return at - self._talker[1] <= self._speed_pace.silent_after_s

    def _close(self, by: Said | None = None) -> tuple[Fix, ...]:
        epoch = self._epoch
        if epoch is None:
            return ()
        self._closed.append((epoch.time_s, epoch.at))
        # A lone VTG before the first time heard ends an epoch whose beginning was missed.
        lone = epoch.vtg is not None and len(epoch.heard) == 1 and epoch.time_s is None
        if epoch.given or (lone and by is not None and by.time_s is not None):
            return ()
        return (self._give(epoch),)

    # The fix: what the epoch says, and what of it may be judged.

    def _give(self, epoch: _Epoch) -> Fix:
        epoch.given = True
        at = epoch.at
        has_fix, cause = self._claim(epoch)
        self._settle(has_fix, at)
        place, told = epoch.place(), epoch.rmc or epoch.vtg
        lat = place.lat_deg if place and has_fix else None
        lon = place.lon_deg if place and has_fix else None
        speed = told.speed_mps if told and has_fix else None
        course = told.course_deg if told and has_fix else None
        if not has_fix:
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
            self._kind(epoch, has_fix),
            speed_judged[0],
            place_judged[0],
            course_judged[0],
            speed_judged[1],
            data.satellites if data else None,
            data.hdop if data else None,
        )
        self._remember(fix)
        return fix

    def _claim(self, epoch: _Epoch) -> tuple[bool, str]:
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

    def _judge_speed(self, told: Said | None, epoch: _Epoch) -> Judged:
        if told is None or told.speed_mps is None:
            bad = told is not None and told.bad_speed
            return (Quality.IMPLAUSIBLE, "") if bad else (Quality.SILENT, "no_speed_sent")
        if told.speed_mps > FASTEST_MPS:
            return Quality.IMPLAUSIBLE, ""
        step = self._step(self._speed_fix, epoch)
        self._speed_pace.beat(step)
        if not self._speed_test.take(told.speed_mps, step):
            return Quality.IMPLAUSIBLE, ""
        return self._unless_settling(epoch.at)

    def _judge_place(self, place: Said | None, epoch: _Epoch) -> Judged:
        if place is None:
            return Quality.SILENT, ""
        if place.lat_deg is None or place.lon_deg is None:
            return Quality.IMPLAUSIBLE, ""
        step = self._step(self._place_fix, epoch)
        self._place_pace.beat(step)
        if not self._place_test.take((place.lat_deg, place.lon_deg), step):
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

    def _step(self, last: Fix | None, epoch: _Epoch) -> float:
        """Seconds since an earlier epoch: by the receiver where it can be, else by arrival."""
        if last is None:
            return 0.0
        arrived = epoch.at - last.at
        if epoch.time_s is None or last.time_of_day_s is None:
            return arrived
        sent = seconds_on(last.time_of_day_s, epoch.time_s)
        return sent if 0.0 < sent < DAY_S / 2 else arrived

    def _utc(
        self, day: date | None, time_s: float | None, has_fix: bool, at: float
    ) -> datetime | None:
        if not has_fix:
            return self._calendar.without_fix(time_s, at)
        zda = self._zda
        if day is None and zda is not None and time_s is not None:
            day = day_beside(zda, time_s)
        return self._calendar.with_fix(day, time_s, at)

    def _data(self, epoch: _Epoch) -> Said | None:
        """The GGA or GNS of this epoch, else of one not long ago."""
        if epoch.fix_data is not None:
            return epoch.fix_data
        if self._fix_data and epoch.at - self._fix_data[1] <= KIND_KEPT_S:
            return self._fix_data[0]
        return None

    def _kind(self, epoch: _Epoch, has_fix: bool) -> FixKind:
        data, told = self._data(epoch), epoch.rmc or epoch.vtg
        kinds = [said.fix_kind for said in (data, told) if said and said.fix_kind]
        if not has_fix:
            return FixKind.ESTIMATED if FixKind.ESTIMATED in kinds else FixKind.NONE
        usable = [kind for kind in kinds if kind not in (FixKind.NONE, FixKind.ESTIMATED)]
        return usable[0] if usable else FixKind.PLAIN

    def _remember(self, fix: Fix) -> None:
        if fix.speed_quality is not Quality.SILENT:
            self._last_speed = fix
            if fix.speed_mps is not None and fix.speed_mps <= FASTEST_MPS:
                self._speed_fix = fix
        if fix.position_quality is not Quality.SILENT:
            self._last_place = fix
            if fix.lat_deg is not None:
                self._place_fix = fix

    # The readings: what is known now.

    def _speed_now(self, now: float) -> Reading:
        fix = self._last_speed
        if fix is None or now - fix.at > self._speed_pace.silent_after_s:
            quality, cause = self._unheard(fix, now)
            place = self._last_place
            if quality is Quality.SILENT and place and now - place.at <= LONGEST_SILENCE_S:
                cause = "no_speed_sent"
            return Reading("speed", None, now if fix is None else fix.at, quality, cause)
        return _reading("speed", fix.speed_mps, fix.at, fix.speed_quality, fix.cause)

    def _course_now(self, now: float) -> Reading:
        speed, fix = self._speed_now(now), self._last_speed
        if speed.quality is not Quality.GOOD or fix is None:
            return Reading("course", None, speed.at, speed.quality, speed.cause)
        return _reading("course", fix.course_deg, fix.at, fix.course_quality, "")

    def _position_now(self, now: float) -> Reading:
        fix = self._last_place
        if fix is None or now - fix.at > self._place_pace.silent_after_s:
            quality, cause = self._unheard(fix, now)
            return Reading("position", None, now if fix is None else fix.at, quality, cause)
        return _reading("position", fix.lat_deg, fix.at, fix.position_quality, fix.cause)

    def _unheard(self, last: Fix | None, now: float) -> Judged:
        """Why nothing is known: just begun, the receiver denies a fix, its time stands, silence."""
        if now - self._denied_at <= LONGEST_SILENCE_S:
            return Quality.NO_FIX, "sky"
        if last is not None and now - self._repeat_at <= LONGEST_SILENCE_S:
            return Quality.FROZEN, "time_stands"
        if (
            last is None
            and self._first_at is not None
            and now - self._first_at <= LONGEST_SILENCE_S
        ):
            return Quality.STARTING, ""
        return Quality.SILENT, "receiver_plug"


def _reading(channel: str, value: float | None, at: float, quality: Quality, cause: str) -> Reading:
    good = quality is Quality.GOOD
    return Reading(channel, value if good else None, at, quality, "" if good else cause)
