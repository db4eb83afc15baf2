"""The days the invented tractor can live through: one row each, data and nothing else."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime

from cabapp.rig import Rig
from cabapp.world.constants import Constants
from cabapp.world.field import Leg, in_lands, lane, out_and_clear, passes, stop
from cabapp.world.happening import Happening, Kind
from cabapp.world.receiver import Receiver
from cabapp.world.soil import Patch, Soil

Layout = Callable[[Rig, Constants], tuple[Leg, ...]]

JOINT_M = 0.15  # what neighbouring passes overlap
FIRST_UTC = datetime(2027, 4, 21, 12, 30, tzinfo=UTC)  # a date of the invented year


@dataclass(frozen=True)
class Scenario:
    """A drive, the ground it goes over, what goes wrong, and how the receiver is set."""

    name: str
    words: str
    layout: Layout
    soil: Soil = field(default_factory=Soil)
    happenings: tuple[Happening, ...] = ()
    receiver: Receiver = field(default_factory=Receiver)
    starts: datetime = FIRST_UTC


def _spacing(rig: Rig) -> float:
    return rig.tool.width_m - JOINT_M


def _few_passes(rig: Rig, c: Constants) -> tuple[Leg, ...]:
    """Five passes of 150 m with all that a first look should see."""
    rows = passes((0, 1, 2, 3, 4), 150.0, _spacing(rig), c)
    return (*stop("start", 8.0), *rows, *out_and_clear("clear", c), *stop("end", 5.0))


def _demo(rig: Rig, c: Constants) -> tuple[Leg, ...]:
    """Like the few passes, but the last one stops and goes back a little with the tool down."""
    legs = list(_few_passes(rig, c))
    last = next(n for n, leg in enumerate(legs) if leg.name == "pass 5")
    whole = legs[last]
    legs[last : last + 1] = [
        replace(whole, length_m=70.0),
        *stop("halt", 4.0, tool_down=True),
        Leg("backing", 3.5, reverse=True, tool_down=True),
        *stop("think", 3.0),
        Leg("on", 12.0, speed_mps=c.turn_speed_mps),
        replace(whole, name="pass 6", length_m=90.0),
    ]
    return tuple(legs)


def _turn_in_ground(rig: Rig, c: Constants) -> tuple[Leg, ...]:
    """The first turn is made with the tool left down."""
    legs = passes((0, 1), 150.0, _spacing(rig), c)
    down = tuple(replace(leg, tool_down=True) if "1" in leg.name else leg for leg in legs)
    return (*stop("start", 5.0), *down, *stop("end", 5.0))


def _hooked(rig: Rig, c: Constants) -> tuple[Leg, ...]:
    return (
        *stop("start", 5.0),
        Leg("pass 1", 160.0, tool_down=True),
        *stop("hooked", 12.0, tool_down=True),
        Leg("ease back", 0.6, reverse=True, tool_down=True),
        *stop("look", 30.0),
        Leg("away", 30.0, speed_mps=c.turn_speed_mps),
    )


def _backing(rig: Rig, c: Constants) -> tuple[Leg, ...]:
    return (
        *stop("start", 5.0),
        Leg("pass 1", 120.0, tool_down=True),
        *stop("halt", 4.0, tool_down=True),
        Leg("backing", 5.0, reverse=True, tool_down=True),
        *stop("end", 5.0, tool_down=True),
    )


def _blocks(count: int, length_m: float, minutes: tuple[float, ...]) -> Layout:
    """Blocks of passes in lands with a stop after each; the last stop is the end of the day."""

    def layout(rig: Rig, c: Constants) -> tuple[Leg, ...]:
        legs: list[Leg] = [*stop("start", 60.0), *lane("lane", 1200.0, c), *stop("gate", 45.0)]
        for n, wait in enumerate(minutes):
            start = 1 + n * count
            legs += passes(in_lands(count), length_m, _spacing(rig), c, start=start)
            legs += out_and_clear(f"clear {n + 1}", c)
            legs += stop(f"stop {n + 1}", 60.0 * wait)
        return (*legs, *lane("lane back", 1200.0, c), *stop("end", 60.0))

    return layout


_KNOLL = Patch(x_m=6.0, y_m=85.0, radius_m=26.0, strength=0.28, layer_m=0.02, height_m=3.5)
_HOLLOW = Patch(x_m=150.0, y_m=300.0, radius_m=35.0, strength=-0.12, soft=0.5, height_m=-1.0)
_OLD_TRACK = Patch(x_m=80.0, y_m=180.0, radius_m=9.0, strength=0.15, layer_m=0.03)
_FIELD = Soil(patches=(replace(_KNOLL, x_m=60.0, y_m=420.0), _HOLLOW, _OLD_TRACK))

_ROWS = (
    Scenario(
        "short_demo",
        "eight minutes that show each thing once",
        _demo,
        Soil(patches=(_KNOLL,), stones_km=0.0),
        (
            Happening(Kind.NO_FIX, "pass 3", after_m=40.0, for_s=14.0),
            Happening(Kind.TRIP, "pass 2", after_m=70.0, target="3"),
            Happening(Kind.TRIP, "pass 3", after_m=110.0, target="2"),
            Happening(Kind.TRIP, "pass 3", after_m=118.0, target="2"),
            Happening(Kind.TRIP, "pass 3", after_m=128.0, target="2"),
            Happening(Kind.CABLE_PULLED, "pass 4", after_m=25.0, for_s=12.0, target="node"),
            Happening(Kind.STAYS_UP, "pass 4", after_m=95.0, for_m=45.0, target="5", size=0.35),
        ),
    ),
    Scenario(
        "ordinary_day",
        "a shift of about fourteen hours: lane, five blocks, stops for fuel and a meal, no faults",
        _blocks(32, 640.0, (12.0, 25.0, 40.0, 15.0, 8.0)),
        _FIELD,
    ),
    Scenario(
        "ordinary_hour",
        "one block of a good day, about three quarters of an hour",
        _blocks(8, 640.0, (4.0,)),
        _FIELD,
    ),
    Scenario(
        "stony_day",
        "a stony field: single trips, bursts on one shank, a shank that stays up",
        _blocks(16, 500.0, (6.0, 6.0)),
        replace(_FIELD, stones_km=6.0),
        (
            Happening(Kind.STONES, "pass 4", after_m=100.0, for_m=150.0, size=60.0),
            Happening(Kind.STONES, "pass 9", after_m=60.0, for_m=120.0, target="4", size=120.0),
            Happening(Kind.STAYS_UP, "pass 12", after_m=200.0, for_m=60.0, target="2", size=0.3),
            Happening(Kind.BROKEN, "pass 20", after_m=120.0, target="6", size=0.06),
        ),
    ),
    Scenario(
        "sensor_fault_day",
        "one sensor after another fails, in each way a sensor can; the last one drifts till night",
        _blocks(24, 400.0, (5.0, 5.0)),
        _FIELD,
        (
            Happening(Kind.FROZEN, "pass 2", after_m=60.0, for_m=280.0, target="depth2"),
            Happening(Kind.DEAD, "pass 4", after_m=80.0, for_s=60.0, target="depth3"),
            Happening(Kind.WIRE, "pass 6", after_m=80.0, for_s=45.0, target="depth1"),
            Happening(Kind.WIRE, "pass 8", after_m=80.0, for_s=45.0, target="depth4", size=1.0),
            Happening(Kind.JUMP, "pass 10", after_m=80.0, for_s=60.0, target="depth1", size=0.07),
            Happening(Kind.STUCK, "pass 12", after_m=60.0, for_m=280.0, target="depth2"),
            Happening(Kind.EMPTY, "pass 14", after_m=80.0, for_s=40.0, target="spring4"),
            Happening(Kind.DEAD, "pass 15", after_m=80.0, for_s=60.0, target="tool_down"),
            Happening(Kind.FROZEN, "pass 16", after_m=60.0, for_m=280.0, target="spring2"),
            Happening(Kind.DRIFT, "pass 17", target="depth4", size=-0.10),
            Happening(Kind.LINE_NOISE, "pass 18", after_m=80.0, for_s=20.0, size=0.01),
            Happening(Kind.PORT_SILENT, "pass 20", after_m=80.0, for_s=20.0, target="node"),
            Happening(Kind.CABLE_PULLED, "pass 22", after_m=80.0, for_s=20.0, target="gnss"),
        ),
    ),
    Scenario(
        "receiver_only_day",
        "nine and a half hours at 1 Hz: sixteen blocks of eight passes, stops, four drop-outs",
        _blocks(8, 440.0, (4, 4, 12, 4, 4, 40, 4, 4, 12, 4, 4, 25, 4, 4, 8, 4)),
        Soil(patches=(replace(_KNOLL, x_m=18.0, y_m=130.0),), stones_km=0.0),
        (
            Happening(Kind.NO_FIX, "pass 5", after_m=80.0, for_s=20.0),
            Happening(Kind.NO_FIX, "turn 20", after_m=5.0, for_s=16.0),
            Happening(Kind.NO_FIX, "pass 77", after_m=200.0, for_s=180.0),
            Happening(Kind.NO_FIX, "stop 9", for_s=30.0),
        ),
        Receiver(hz=1, fix_quality=1),
    ),
    Scenario("plain_passes", "five passes, nothing goes wrong", _few_passes, Soil(stones_km=0.0)),
    Scenario(
        "raised",
        "a lever raises the tool for 40 m of a pass",
        _few_passes,
        Soil(stones_km=0.0),
        (Happening(Kind.RAISED, "pass 2", after_m=60.0, for_m=40.0, size=0.09),),
    ),
    Scenario(
        "too_shallow",
        "a stop has slipped: the tool runs shallow from the second pass on",
        _few_passes,
        Soil(stones_km=0.0),
        (Happening(Kind.RAISED, "turn 1", size=0.045),),
    ),
    Scenario("turn_in_ground", "a turn with the tool left down", _turn_in_ground, Soil()),
    Scenario("backing_in_ground", "stopped in a pass and backed with the tool down", _backing),
    Scenario(
        "hooked",
        "the tool catches on something that does not give",
        _hooked,
        Soil(stones_km=0.0),
        (Happening(Kind.HOOKED, "pass 1", after_m=156.0, for_s=14.0, size=1.25),),
    ),
    Scenario(
        "slipping",
        "a wet place: slip runs up over half a minute",
        _few_passes,
        Soil(stones_km=0.0),
        (
            Happening(Kind.SLIPPING, "pass 2", after_m=20.0, for_m=70.0, size=0.16),
            Happening(Kind.SLIPPING, "pass 3", after_m=40.0, for_s=8.0, size=0.40),
        ),
    ),
    Scenario(
        "broken_leg",
        "a shank stops pulling",
        _few_passes,
        Soil(stones_km=0.0),
        (Happening(Kind.BROKEN, "pass 2", after_m=40.0, target="6", size=0.06),),
    ),
)

SCENARIOS: dict[str, Scenario] = {scenario.name: scenario for scenario in _ROWS}
