"""Metres by the receiver's own speed: what a course against a tape is proven with."""

import pytest

from cabapp.engine.odometer import Odometer
from cabapp.outcome import Row


def rows(*speeds: float | None, step: float = 1.0) -> list[Row]:
    return [
        Row(10.0 + n * step, "", None, None, {"speed_mps": speed}) for n, speed in enumerate(speeds)
    ]


def driven(*speeds: float | None, step: float = 1.0) -> Odometer:
    odometer = Odometer()
    for row in rows(*speeds, 0.0, step=step):
        odometer.take(row)
    return odometer


def test_metres_are_speed_by_each_rows_own_length() -> None:
    assert driven(2.0, 2.0, 3.0).metres == pytest.approx(7.0)
    assert driven(2.0, 2.0, step=0.5).metres == pytest.approx(2.0)


def test_waiting_at_a_mark_adds_no_metres() -> None:
    assert driven(*[0.05] * 600).metres == 0.0


def test_time_without_a_speed_is_counted_and_never_guessed() -> None:
    odometer = driven(2.0, None, None, 2.0)
    assert (odometer.metres, odometer.lost_s) == (pytest.approx(4.0), pytest.approx(2.0))
    assert driven(2.0, 2.0, step=9.0).lost_s == pytest.approx(14.0)
