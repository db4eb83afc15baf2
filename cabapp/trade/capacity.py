"""How much ground an hour covers, how long the rest takes, and how good the hour was."""

from cabapp.trade.refuse import need_between, need_not_negative, need_positive
from cabapp.trade.sources import COMMON_PRACTICE, EP496
from cabapp.units import MPH_MPS

# Speed at which a combination ripper is usually pulled; the published subsoiler figure is 5 mph,
# so the band is set for each job and this is only where it starts.
USUAL_SPEED_MPS = (5 * MPH_MPS, 7 * MPH_MPS)
USUAL_SPEED_SOURCE = COMMON_PRACTICE
FIELD_CAPACITY_SOURCE = EP496


def field_capacity_m2_s(speed_mps: float, width_m: float, efficiency: float) -> float:
    """Ground covered, square metres a second: speed times width times field efficiency.

    ``efficiency`` (above 0 up to 1) covers turns, overlap, plugging and short stops, not travel
    to the field or repairs. ValueError otherwise. Source: ASABE EP496 as used by Iowa State
    PM 696 (seen): mph x feet x efficiency / 8.25 acres an hour.
    """
    need_positive("speed_mps", speed_mps, "give the ground speed in m/s")
    need_positive("width_m", width_m, "give the working width in metres")
    return speed_mps * width_m * _efficiency(efficiency)


def _efficiency(efficiency: float) -> float:
    need_positive("efficiency", efficiency, "give a ratio, 0.85 for 85 %")
    return need_between("efficiency", efficiency, 0.0, 1.0, "give a ratio, 0.85 for 85 %")


def field_efficiency(area_m2: float, time_s: float, speed_mps: float, width_m: float) -> float:
    """Area done against what speed and width alone would have done in the time, a ratio.

    Over 1 means that a speed, a width or an area is wrong; the value is passed on so that the
    reader sees by how much. ValueError for a negative area or anything else not above zero.
    Source: ASABE EP496 as used by Iowa State PM 696 (seen).
    """
    need_not_negative("area_m2", area_m2, "give the area worked in square metres")
    need_positive("time_s", time_s, "give the time it took in seconds")
    return area_m2 / (time_s * field_capacity_m2_s(speed_mps, width_m, 1.0))


def effective_width_m(width_m: float, overlap_m: float) -> float:
    """Width that is new ground in each pass. ValueError unless 0 <= overlap < width."""
    need_positive("width_m", width_m, "give the working width in metres")
    need_not_negative("overlap_m", overlap_m, "give the overlap in metres, 0 for none")
    if overlap_m >= width_m:
        raise ValueError(
            f"overlap_m: found {overlap_m!r}, expected less than the width {width_m!r}; "
            "give both in metres"
        )
    return width_m - overlap_m


def finish_s(area_left_m2: float, rate_m2_s: float) -> float | None:
    """Seconds of work left at a rate, or None while nothing is being covered (rate 0).

    ValueError for a negative or non-finite area or rate: an area typed too small for the field
    is for the caller to say, not to turn into a time. Plain arithmetic.
    """
    need_not_negative("area_left_m2", area_left_m2, "check the field's area; more was worked")
    need_not_negative("rate_m2_s", rate_m2_s, "give the rate in square metres a second")
    return area_left_m2 / rate_m2_s if rate_m2_s > 0 else None
