"""What is good to know without a sound, and pegs ahead."""

from collections.abc import Callable

from cabapp.trade.rows import GOOD_ANGLE_DEG
from cabapp.watch.attention import Delays
from cabapp.watch.now import Now
from cabapp.watch.rules import Band, Key, Reminder, Row, When, fixed
from cabapp.words import Rule

ROWS_STRAIGHT_M = 60.0
STORAGE_NOTE_SHARE = 0.80


def _row_angle(now: Now, key: Key) -> float | None:
    judged = now.first_passes and not now.near_edge and now.straight_m >= ROWS_STRAIGHT_M
    return now.row_angle_deg if judged else 90.0


def _raised(now: Now, key: Key) -> bool | None:
    """Raised, and staying so; while it comes up nobody can say, and what is told stays told."""
    return None if now.raised and now.going_up else now.raised


def note_rows() -> tuple[Row, ...]:
    """What is good to know; pegs over a line are the one reminder with a sound."""
    always = When.ALWAYS
    return (
        Reminder(Rule.PIPE_AHEAD, lambda now, key: now.pipe_ahead_m is not None, always),
        Reminder(Rule.PEG_AHEAD, lambda now, key: now.peg_ahead_m is not None, always),
        Band(
            Rule.ROWS,
            _row_angle,
            fixed(GOOD_ANGLE_DEG[0]),
            Delays(),
            When.WORK,
            0.15 * GOOD_ANGLE_DEG[0],
            under=True,
        ),
        # Once due it stands until somebody digs, and is shown at each turn and stop.
        Reminder(Rule.DIG, lambda now, key: now.dig_due, When.PAUSE, latched=True),
        Reminder(Rule.CREEPING, lambda now, key: now.creeping, When.STANDING, needs=("depth",)),
        *(
            Reminder(Rule.RISING, _rising(what), When.STANDING, variant=what, needs=(family,))
            for what, family in (("left", "spring"), ("right", "spring"), ("slip", "wheel_speed"))
        ),
        Reminder(Rule.ADJUST_NEXT_STOP, lambda now, key: now.to_adjust != "", When.STANDING),
        # A lift at the headland looks like a raise until the tool is up.
        Reminder(Rule.RAISED, _raised, always, delays=Delays(1.0, off_s=0.0)),
        Reminder(Rule.RAISED, lambda now, key: now.remind_raised, always, variant="remind"),
        Reminder(Rule.CHECKS_OPEN, lambda now, key: now.checks_open, always),
        Reminder(
            Rule.SWITCH_LOST,
            lambda now, key: "tool_down" in now.set_aside,
            always,
            needs=("tool_down",),
        ),
        Reminder(Rule.LOOKS_OFF, lambda now, key: now.looks_off, always),
        Reminder(
            Rule.STORAGE,
            lambda now, key: (now.storage_share or 0.0) >= STORAGE_NOTE_SHARE,
            always,
        ),
        Reminder(
            Rule.DISAGREEING_SENSOR,
            lambda now, key: now.suspect != "",
            When.WORK,
            needs=("depth",),
            latched=True,  # a headland mends no sensor
            delays=Delays(10.0),
        ),
        Reminder(Rule.RULER, lambda now, key: now.ruler_open, When.STANDING),
    )


def _rising(what: str) -> Callable[[Now, Key], bool]:
    return lambda now, key: now.rising.get(what, False)
