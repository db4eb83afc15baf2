"""When the speaker speaks by itself: the engine was heard and has fallen silent."""

from cabapp.engine.wire import ENGINE_GONE_SPEAKER_S

REPEAT_S = 2.5  # as an unanswered ACT
INSIST_S = 30.0  # then only once in this long: nobody is left to take a Quiet
STALE_S = 1.0  # an older sound, waiting in the pipe, is no news any more


class Standby:
    """Decides when the act pattern sounds without the engine. Pure: time is an argument."""

    def __init__(self) -> None:
        self._since: float | None = None
        self._next = 0.0

    def due(self, now: float, engine_silent_s: float, engine_heard: bool) -> bool:
        """True when the pattern has to begin now; ``now`` in monotonic seconds."""
        if not engine_heard or engine_silent_s < ENGINE_GONE_SPEAKER_S:
            self._since = None
            return False
        if self._since is None:
            self._since = self._next = now
        if now < self._next:
            return False
        self._next = now + (REPEAT_S if now - self._since < INSIST_S else INSIST_S)
        return True
