"""What is calibrated and how well it must agree: one row of figures for each kind of sensor."""

from dataclasses import dataclass

from cabapp.channels import FAMILIES
from cabapp.fitup.findings import Measure
from cabapp.fitup.scaling import WIRES, Signal, Wire, signal_in
from cabapp.units import INCH_M

# Field judgement where no source stands beside it.
SHED_OFF_M = 0.25 * INCH_M
SLOT_OFF_M = 0.50 * INCH_M
SLOT_DEPTHS_APART_M = 2.0 * INCH_M
SINK_MOST_M = 3.0 * INCH_M  # wheels sink less than this; more is a slip or a wrong arm length
UNPROVEN_IN_SOIL_M = 1.5 * INCH_M  # what a depth may be off while no slot has been dug
LOAD_OFF_SHARE = 0.02  # of full scale, for residual, hysteresis and repeats alike
BEYOND_SHARE = 0.10  # of the proven span; outermost points then cover over four fifths of the use
LEAST_TAKEN = 5  # rows with a signal in the fit or on slots


@dataclass(frozen=True)
class Task:
    """One sensor's calibration: units, bounds and what is allowed, all in SI but ``wire``.

    ``least``/``most`` bound believable known values; ``used_least``/``used_most`` is the range the
    curve will be asked for in work. ``expected_slope`` is +1 or -1 once the direction check has
    been made, 0 before. ``in_field`` asks for dug slots.
    """

    measure: Measure
    wire: Wire
    off: float
    least: float
    most: float
    used_least: float
    used_most: float
    slot_off: float = 0.0
    in_field: bool = False
    expected_slope: int = 0

    @property
    def signal(self) -> Signal:
        """How its signal is shown."""
        return signal_in(self.wire, self.measure.unit)


def depth_task(
    unit: str, wire: str = "V", deepest_m: float = 14 * INCH_M, expected_slope: int = 0
) -> Task:
    """A depth sensor that will be used from the ground's surface down to ``deepest_m``."""
    family = FAMILIES["depth"]
    return Task(
        Measure(unit),
        WIRES[wire],
        off=SHED_OFF_M,
        least=family.least,
        most=family.most,
        used_least=0.0,
        used_most=deepest_m,
        slot_off=SLOT_OFF_M,
        in_field=True,
        expected_slope=expected_slope,
    )


def force_task(unit: str, full_scale_n: float, wire: str = "V", expected_slope: int = 0) -> Task:
    """A spring or load sensor in newtons, used from 0 to ``full_scale_n``."""
    return Task(
        Measure(unit),
        WIRES[wire],
        off=LOAD_OFF_SHARE * full_scale_n,
        least=0.0,
        most=1.5 * full_scale_n,
        used_least=0.0,
        used_most=full_scale_n,
        expected_slope=expected_slope,
    )
