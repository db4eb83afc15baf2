"""Values somebody relies on that are unknown."""

from collections.abc import Callable
from typing import Any

from cabapp.watch.attention import Delays
from cabapp.watch.now import Now
from cabapp.watch.rules import Band, Key, Reminder, Row, Value, When, fixed
from cabapp.words import Rule

BACK_S = 3.0  # good data for so long ends a no reading


def _nothing_unread(now: Now) -> bool:
    return not now.unread


def _unread(family: str) -> Value:
    """Seconds of one channel; 0.0 while none of its family reads: that is told once for all."""
    return lambda now, key: 0.0 if family in now.all_unread else now.unread.get(str(key), 0.0)


def _all_unread(family: str) -> Value:
    return lambda now, key: now.all_unread.get(family, 0.0)


def _unread_one(channel: str) -> Value:
    return lambda now, key: now.unread.get(channel, 0.0)


def _trouble(name: str) -> Callable[[Now, Key], bool]:
    return lambda now, key: getattr(now, name) is not None


def reading_rows() -> tuple[Row, ...]:
    """Values somebody relies on that are unknown; seconds count from the last good value."""

    def lost(rule: Rule, value: Value, after_s: float, when: When, **where: Any) -> Band:
        return Band(rule, value, fixed(after_s), Delays(off_s=BACK_S), when, after_s, **where)

    def family(rule: Rule, name: str, after_s: float) -> tuple[Row, Row]:
        one = {"variant": "one", "each": name, "calm": _nothing_unread}
        return (
            lost(rule, _all_unread(name), after_s, always, needs=(name,), calm=_nothing_unread),
            lost(rule, _unread(name), after_s, always, needs=(name,), **one),
        )

    always = When.ALWAYS
    return (
        *family(Rule.NO_SPRINGS, "spring", 3.0),
        Reminder(
            Rule.UP_OR_DOWN,
            lambda now, key: now.disagree,
            always,
            needs=("spring",),
            delays=Delays(off_s=BACK_S),
        ),
        lost(Rule.NO_SWITCH, _unread_one("tool_down"), 3.0, always, needs=("tool_down",)),
        *family(Rule.NO_DEPTH, "depth", 4.0),
        lost(
            Rule.DEPTH_STUCK, lambda now, key: now.frozen.get(str(key), 0.0), 0.0, always,
            calm=lambda now: not now.frozen, needs=("depth",), each="depth",
        ),
        lost(Rule.NO_POSITION, lambda now, key: now.position_lost_s, 10.0, When.RELIED_ON),
        lost(Rule.NO_SPEED, lambda now, key: now.no_speed_sent_s, 10.0, always),
        lost(Rule.NO_SLIP, _unread_one("wheel_speed"), 4.0, always, needs=("wheel_speed",)),
        Reminder(Rule.NOT_SAVING, _trouble("record_trouble"), always, delays=Delays(3.0)),
        Reminder(Rule.NO_SOUND, _trouble("sound_trouble"), always, delays=Delays(3.0)),
    )  # fmt: skip
