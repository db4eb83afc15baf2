"""Which sentences belong to one receiver time, and when that epoch is whole.

An epoch is one receiver time, whoever on the wire speaks of it. It is whole the moment its speed
is heard: at RMC; at VTG where no RMC comes; at the position where neither comes. Later sentences
of the same time add nothing to it. A VTG carries no time and belongs to the last time heard.
While it is not known whether an RMC will follow (the first 3 s, or one RMC was lost) an epoch
waits for the next to begin.
"""

from collections import deque

from cabapp.hear.sentences import Said

NEVER = float("-inf")
HEARD_LATELY_S = 3.0


class Epoch:
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

    def told(self) -> Said | None:
        """Who says how fast: RMC, else VTG; an RMC that leaves its speed empty is none."""
        vtg = self.vtg if self.vtg is not None and self.vtg.has_fix is not False else None
        return vtg if vtg is not None and (self.rmc is None or _is_mute(self.rmc)) else self.rmc

    def place(self) -> Said | None:
        """Who says where: RMC, else GGA or GNS, else GLL."""
        for said in (self.rmc, self.fix_data, self.gll):
            if said is not None and (said.lat_deg is not None or said.bad_place):
                return said
        return None


def _better(kept: Said | None, said: Said) -> Said:
    return said if kept is None or (said.has_fix and not kept.has_fix) else kept


def _is_mute(rmc: Said) -> bool:
    return rmc.speed_mps is None and not rmc.bad_speed


class Epochs:
    """Groups sentences into epochs. ``repeat_at`` is when a time already heard last came again."""

    __slots__ = ("_closed", "_epoch", "_rmc_at", "_talker", "_vtg_at", "repeat_at")

    def __init__(self) -> None:
        self._epoch: Epoch | None = None
        self._closed: deque[tuple[float | None, float]] = deque(maxlen=4)
        self._talker: tuple[str, float] | None = None  # whose RMC last had a fix, and when
        self._rmc_at = self._vtg_at = NEVER
        self.repeat_at = NEVER

    @property
    def rmc_has_spoken(self) -> bool:
        """True while the open epoch was given by its RMC: then a VTG has nothing to add."""
        return self._epoch is not None and self._epoch.given and self._epoch.rmc is not None

    def add(self, said: Said, at: float) -> tuple[Epoch, ...]:
        """The epochs this sentence makes whole: none, one, or two if an older one was open."""
        if self._rmc_at == NEVER:  # until shown otherwise, an RMC may follow
            self._rmc_at = self._vtg_at = at
        epoch = self._epoch
        closed: tuple[Epoch, ...] = ()
        if epoch is None or self._begins_epoch(epoch, said):
            if self._is_late(said, at):
                self.repeat_at = at
                return ()
            closed = self.finish(said)
            epoch = self._epoch = Epoch(said.time_s)
        elif (said.kind, said.talker) in epoch.heard:
            self.repeat_at = at
        epoch.add(said, at)
        self._note(said, at)
        if epoch.given or not self._is_whole(epoch, at):
            return closed
        epoch.given = True
        return (*closed, epoch)

    def finish(self, by: Said | None = None) -> tuple[Epoch, ...]:
        """Close the open epoch, as the next begins with ``by`` or the wire ends; give it if new."""
        epoch, self._epoch = self._epoch, None
        if epoch is None:
            return ()
        self._closed.append((epoch.time_s, epoch.at))
        # A lone VTG before the first time heard ends an epoch whose beginning was missed.
        lone = epoch.vtg is not None and len(epoch.heard) == 1 and epoch.time_s is None
        if epoch.given or (lone and by is not None and by.time_s is not None):
            return ()
        epoch.given = True
        return (epoch,)

    def _begins_epoch(self, epoch: Epoch, said: Said) -> bool:
        if said.time_s is None:
            return (said.kind, said.talker) in epoch.heard
        return said.time_s != epoch.time_s

    def _is_late(self, said: Said, at: float) -> bool:
        """A sentence of a time that is already over: another talker, slower than the first."""
        return said.time_s is not None and any(
            said.time_s == time_s and at - closed_at < HEARD_LATELY_S
            for time_s, closed_at in self._closed
        )

    def _note(self, said: Said, at: float) -> None:
        if said.kind == "RMC":
            self._rmc_at = at
            if said.has_fix:
                self._talker = said.talker, at
        elif said.kind == "VTG":
            self._vtg_at = at

    def _is_whole(self, epoch: Epoch, at: float) -> bool:
        if epoch.rmc is not None and not epoch.rmc.has_fix:
            return not self._another_has_fix(epoch.rmc.talker, at)
        if epoch.rmc is not None and not _is_mute(epoch.rmc):
            return True
        if epoch.rmc is None and at - self._rmc_at <= HEARD_LATELY_S:
            return False
        return epoch.vtg is not None or at - self._vtg_at > HEARD_LATELY_S

    def _another_has_fix(self, talker: str, at: float) -> bool:
        if self._talker is None or self._talker[0] == talker:
            return False
        return at - self._talker[1] <= HEARD_LATELY_S
