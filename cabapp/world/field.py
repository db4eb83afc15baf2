"""Where the tractor drives: legs, and the layouts that make them (passes, headland turns, a lane).

A leg is a piece of one curvature, one gear and one tool command, or a wait. Place names on legs
("pass 3") let a scenario say where something happens without knowing when.
"""

import math
from dataclasses import dataclass, replace

from cabapp.world.constants import Constants

RUN_OUT_M = 9.0  # straight and lifted between the end of a pass and its turn


@dataclass(frozen=True)
class Leg:
    """One piece of the drive.

    ``bend`` is radians of heading a metre, to the right positive; ``speed_mps`` None means the
    driver's working speed; ``wait_s`` over zero makes it a stop and ``length_m`` is not used.
    """

    name: str
    length_m: float = 0.0
    bend: float = 0.0
    speed_mps: float | None = None
    tool_down: bool = False
    reverse: bool = False
    road: bool = False
    wait_s: float = 0.0


def stop(name: str, seconds: float, *, tool_down: bool = False) -> tuple[Leg, ...]:
    """Standing still for a while."""
    return (Leg(name, wait_s=seconds, tool_down=tool_down),)


def headland(name: str, spacing_m: float, right: bool, c: Constants) -> tuple[Leg, ...]:
    """A lifted turn into a pass ``spacing_m`` to the side.

    Closer than two radii: a bulb of three arcs that ends beside where it began. Wider: two
    quarter turns with a straight between.
    """
    radius, side = c.turn_radius_m, 1.0 if right else -1.0
    arc = Leg(name, bend=side / radius, speed_mps=c.turn_speed_mps)
    if spacing_m < 2 * radius:
        swing = math.acos((spacing_m + 2 * radius) / (4 * radius))
        out = replace(arc, length_m=radius * swing, bend=-side / radius)
        return out, replace(arc, length_m=radius * (math.pi + 2 * swing)), out
    quarter = replace(arc, length_m=radius * math.pi / 2)
    across = replace(arc, length_m=spacing_m - 2 * radius, bend=0.0)
    return (quarter, across, quarter) if across.length_m > 0 else (quarter, quarter)


def passes(
    lanes: tuple[int, ...], length_m: float, spacing_m: float, c: Constants, *, start: int = 1
) -> tuple[Leg, ...]:
    """Passes to and fro in this order of lanes, lifted before each turn and set in after it.

    Lanes are counted to the right of the first heading. Passes are named from ``start`` on.
    """
    legs: list[Leg] = []
    near = c.turn_speed_mps + 0.3
    for n, lane_now in enumerate(lanes):
        name = start + n
        legs.append(Leg(f"pass {name}", length_m, tool_down=True))
        if n + 1 == len(lanes):
            break
        aside = lanes[n + 1] - lane_now
        right = (aside > 0) == (n % 2 == 0)
        legs.append(Leg(f"out {name}", RUN_OUT_M, speed_mps=near))
        legs += headland(f"turn {name}", abs(aside) * spacing_m, right, c)
        legs.append(Leg(f"in {name}", RUN_OUT_M, speed_mps=near))
    return tuple(legs)


def in_lands(count: int, land: int = 8) -> tuple[int, ...]:
    """Lane order by lands, all turns the same way round: 0 4 1 5 2 6 3 7, then the next land."""
    half = land // 2
    order = [base + n for base in range(0, count, land) for i in range(half) for n in (i, i + half)]
    return tuple(order[:count])


def lane(name: str, length_m: float, c: Constants) -> tuple[Leg, ...]:
    """A stretch of road, tool lifted, with a bend in it."""
    leg = Leg(name, length_m / 2, speed_mps=c.road_speed_mps, road=True)
    return leg, replace(leg, length_m=40.0, bend=math.radians(35) / 40), leg


def out_and_clear(name: str, c: Constants) -> tuple[Leg, ...]:
    """Lift and drive clear of the last pass, to a stop."""
    return (Leg(name, 25.0, speed_mps=c.turn_speed_mps),)
