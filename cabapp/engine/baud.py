"""Finding the speed of a wire by what comes over it. Pure: bytes and time in, a speed out."""

from collections import Counter

from cabapp.hear.lines import Line, Lines

# The likeliest first: what receivers and nodes ship with, then what installers choose.
SPEEDS = (9600, 115200, 38400, 4800, 57600, 19200, 230400, 460800)
# A receiver that speaks once a second must be heard twice, whatever the phase; a speed that was
# given up after exactly one period is the classic way never to find it.
PROBE_S = 2.5
LONGER_PROBE_S = 5.0  # with one sentence heard, or for a speed that was locked
ENOUGH_SENTENCES = 2
# At a wrong speed nearly every byte is noise: then there is no need to wait the whole probe.
GARBAGE_BYTES = 200
GARBAGE_SHARE = 0.3

_KINDS = {
    "receiver": frozenset({"RMC", "VTG", "GGA", "GNS", "GLL"}),
    "node": frozenset({"XDR"}),
}
_READABLE = bytes(range(0x20, 0x7F)) + b"\r\n"


class _Probe:
    """What has come at one speed."""

    def __init__(self) -> None:
        self.lines = Lines()
        self.since: float | None = None  # the first byte at this speed
        self.good_at = 0.0
        self.bytes = 0
        self.noise = 0
        self.sentences = 0

    def take(self, data: bytes, now: float) -> list[Line]:
        """Count bytes, noise and sentences."""
        if self.since is None:
            self.since = self.good_at = now
        lines = self.lines.feed(data, now)
        self.bytes += len(data)
        self.noise += len(data.translate(None, _READABLE))
        if lines:
            self.good_at = now
            self.sentences += len(lines)
        return lines

    def is_wrong(self, now: float) -> bool:
        """True once this speed has had its chance."""
        if self.sentences:
            return now - self.good_at >= LONGER_PROBE_S
        noisy = self.bytes >= GARBAGE_BYTES and self.noise > GARBAGE_SHARE * self.bytes
        return noisy or (self.since is not None and now - self.since >= PROBE_S)


class SpeedSearch:
    """Tries speeds until checked sentences come; then stays, through silence too.

    ``known`` is a speed that worked here before: it is tried first and one sentence is enough.
    Silence says nothing about the speed, so a search waits at the present one until bytes come.
    """

    def __init__(self, known: int | None = None) -> None:
        others = tuple(speed for speed in SPEEDS if speed != known)
        self._speeds = (known, *others) if known else SPEEDS
        self._place = 0
        self.locked = False
        self.rounds = 0  # whole rounds through all speeds without success
        self.kinds: Counter[str] = Counter()
        self._needed = 1 if known else ENOUGH_SENTENCES
        self._probe = _Probe()

    @property
    def baud(self) -> int:
        """The speed to listen at now."""
        return self._speeds[self._place]

    def speaks(self, role: str) -> bool:
        """Whether anything of a "receiver" or a "node" was heard at this speed."""
        return bool(self.kinds.keys() & _KINDS[role])

    def speaks_for_another(self, role: str) -> bool:
        """Whether all that was heard belongs to another role."""
        return not self.speaks(role) and any(self.speaks(other) for other in _KINDS)

    def take(self, data: bytes, now: float) -> list[Line]:
        """Hear bytes; the sentences among them. May lock, or move on to the next speed."""
        lines = self._probe.take(data, now)
        self.kinds.update(line.kind for line in lines)
        if self._probe.sentences >= self._needed:
            self.locked = True
        if not lines and self._probe.is_wrong(now):
            self._next()
        return lines

    def _next(self) -> None:
        self._place = (self._place + 1) % len(self._speeds)
        self.rounds += self._place == 0
        self.locked = False
        self._needed = ENOUGH_SENTENCES
        self.kinds.clear()
        self._probe = _Probe()
