"""A shift held against another band than that of its day; the record stays."""

from dataclasses import replace

from cabapp.review.again import Bands, judged_again
from cabapp.screens.pages.shifts_work import Opened, opened
from cabapp.units import INCH_M, KMH_MPS, MPH_MPS, UnitSystem

STEP = {
    ("speed", UnitSystem.US): 0.5 * MPH_MPS,
    ("speed", UnitSystem.METRIC): KMH_MPS,
    ("depth", UnitSystem.US): 0.5 * INCH_M,
    ("depth", UnitSystem.METRIC): 0.01,
}


class Judging:
    """One shift and the bands it is judged against; ``found`` is it judged so, or None."""

    def __init__(self, one: Opened) -> None:
        self.one = one
        self.bands = Bands()
        self.found: Opened | None = None
        self.refused = ""  # why the last key moved no band

    def movable(self) -> tuple[str, ...]:
        """Whose band can be moved: speed, and depth where the rig reads one and has a band."""
        page = self.one.shift.page
        depth = page.rig.fitted("depth") and page.plan.depth_low_m is not None
        return ("speed", "depth") if depth and page.plan.depth_high_m is not None else ("speed",)

    def band(self, thing: str) -> tuple[float, float]:
        """The band of "speed" or "depth" to judge against, m/s or metres."""
        plan = self.one.shift.page.plan
        if thing == "speed":
            return self.bands.speed_mps or (plan.speed_low_mps, plan.speed_high_mps)
        assert plan.depth_low_m is not None and plan.depth_high_m is not None
        return self.bands.depth_m or (plan.depth_low_m, plan.depth_high_m)

    def step(self, thing: str, end: int, step: int, units: UnitSystem) -> None:
        """Move the lower (0) or upper (1) end of the band to judge against, and judge."""
        low, high = self.band(thing)
        by = step * STEP[(thing, units)]
        moved = (low, high + by) if end else (low + by, high)
        field = "speed_mps" if thing == "speed" else "depth_m"
        try:
            bands = replace(self.bands, **{field: moved})
            self.found = opened(judged_again(self.one.shift, bands))
        except ValueError as error:
            self.refused = str(error)[0].upper() + str(error)[1:]
            return
        self.bands, self.refused = bands, ""

    def reset(self) -> None:
        """Back to the band of the day."""
        self.found, self.bands, self.refused = None, Bands(), ""
