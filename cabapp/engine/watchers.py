"""What the engine thinks of its two companions from what they last said. Pure: time is given."""

from cabapp.engine.wire import Voice

VOICE_GONE_S = 1.25  # five beats: then nothing would be heard
SCREEN_GONE_S = 2.8  # a screen restarts in less; one that does not is told by ear
SCREEN_AGAIN_S = 20.0


class VoiceWatch:
    """Turns what the speaker says into news: the answer when it changes, else None."""

    def __init__(self, now: float, grace_s: float = 2.5) -> None:
        self._heard_at = now + grace_s - VOICE_GONE_S  # a speaker takes a while to start
        self._said: Voice | None = None
        self._told: tuple[bool, str] | None = None

    def hear(self, voice: Voice, now: float) -> None:
        """The speaker said how it is."""
        self._said = voice
        self._heard_at = max(self._heard_at, now)

    def news(self, now: float) -> tuple[bool, str] | None:
        """(well, cause) if that has changed since it was last asked for."""
        if now - self._heard_at > VOICE_GONE_S:
            found = (False, "")
        elif self._said is None:
            return None
        else:
            found = (self._said.well, self._said.cause)
        if found == self._told:
            return None
        self._told = found
        return found


class ScreenWatch:
    """Says when a missing picture has to be told by ear."""

    def __init__(self) -> None:
        self._heard_at: float | None = None
        self._told_at: float | None = None
        self.drawn = 0

    def hear(self, drawn: int, now: float) -> None:
        """The screen's loop turned and shows snapshot ``drawn``."""
        self._heard_at = now
        self._told_at = None
        self.drawn = drawn

    def sound_due(self, now: float) -> bool:
        """True at the moment a look sound has to say that the screen is gone."""
        if self._heard_at is None or now - self._heard_at < SCREEN_GONE_S:
            return False
        if self._told_at is not None and now - self._told_at < SCREEN_AGAIN_S:
            return False
        self._told_at = now
        return True
