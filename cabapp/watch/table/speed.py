"""Speed over ground against the band of the day."""

from cabapp.units import MPH_MPS
from cabapp.watch.attention import Delays
from cabapp.watch.rules import Band, Row, When
from cabapp.words import Rule

SPEED_DEADBAND_MPS = 0.3 * MPH_MPS


def speed_rows() -> tuple[Row, ...]:
    """Speed over ground against the day's band, on a 3 s mean. Slow is never told to speed up."""
    return (
        Band(
            Rule.TOO_FAST,
            lambda now, key: now.mean_mps,
            lambda now: now.speed_high_mps,
            Delays(6.0, 15.0, 2.0),
            When.WORK,
            SPEED_DEADBAND_MPS,
        ),
        Band(
            Rule.HARD_HERE,
            lambda now, key: now.mean_mps,
            lambda now: now.speed_low_mps,
            Delays(12.0, 25.0, 2.0),
            When.WORK_SETTLED,
            SPEED_DEADBAND_MPS,
            under=True,
        ),
    )
