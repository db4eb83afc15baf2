"""Invented moments of an invented shift: every state of Drive, for pictures and for tests.

Nothing here is measured. The tool is a V of seven shanks at fourteen inches, pulled between five
and seven miles an hour. It has seven spring sensors, four of depth, a lift switch and a wheel
sensor; with the speed over ground they are the fourteen that are read.
"""

from collections.abc import Callable
from dataclasses import replace

from cabapp.outcome import (
    BandView,
    Card,
    CardView,
    Chip,
    DepthView,
    DugView,
    FieldView,
    Quieting,
    ShankState,
    ShankView,
    Snapshot,
    SpeedView,
    SpringsView,
    TileState,
    ToolButton,
)
from cabapp.units import ACRE_M2, INCH_M, KMH_MPS, MPH_MPS, UnitSystem
from cabapp.words import Arrow, Level, Phase, Rule, Said, distance_text, next_step, say

T = TileState
SHARES = (0.55, 0.60, 0.62, 0.66, 0.74, 0.61, 0.48)
V_OF_SEVEN = tuple((0.762 * (i - 3), 0.55 * abs(i - 3)) for i in range(7))
TWO_RANKS = tuple((0.762 * (i - 3), 0.0 if i % 2 else 0.9) for i in range(7))

SPEED = SpeedView(T.IN_BAND, 5.8 * MPH_MPS, 5 * MPH_MPS, 7 * MPH_MPS)
DEPTH = DepthView(
    T.IN_BAND,
    value_m=13.9 * INCH_M,
    front_m=13.9 * INCH_M,
    rear_m=13.9 * INCH_M,
    side=0.0,
    target_m=14 * INCH_M,
    low_m=13 * INCH_M,
    high_m=15 * INCH_M,
    layer_top_m=9 * INCH_M,
    layer_bottom_m=13 * INCH_M,
)
FIELD = FieldView(
    area_m2=38.2 * ACRE_M2,
    rate_m2_s=12.1 * ACRE_M2 / 3600,
    left_m2=21 * ACRE_M2,
    finish="16:20",
    clock="14:32",
    dig_in_m2=12 * ACRE_M2,
)


def shanks(
    odd: dict[int, ShankState] | None = None,
    shares: tuple[float, ...] = SHARES,
    places: tuple[tuple[float, float], ...] = V_OF_SEVEN,
) -> tuple[ShankView, ...]:
    """Shanks with some that stand out; the highest of the rest is the worst."""
    odd = odd or {}
    rest = [share for i, share in enumerate(shares) if i + 1 not in odd]
    top = max(rest, default=0.0)
    found = []
    for i, (share, (across, back)) in enumerate(zip(shares, places, strict=True)):
        state = odd.get(i + 1, ShankState.WORST if share == top else ShankState.NORMAL)
        value = None if state in (ShankState.NO_READING, ShankState.BARE) else share
        found.append(ShankView(i + 1, across, back, value, state))
    return tuple(found)


BARE = shanks(dict.fromkeys(range(1, 8), ShankState.BARE))
SPRINGS = SpringsView(T.IN_BAND, shanks(), worst_share=0.74)
ALL_READ = "all 14 reading"
CALM = BandView(None, "ALL IN BAND", ALL_READ, ALL_READ, mark=T.IN_BAND, quieting=Quieting.SOUND_ON)

IN_BAND = Snapshot(
    number=1,
    at=100.0,
    units=UnitSystem.US,
    night=False,
    phase=Phase.WORKING,
    moving=True,
    parked_hold=False,
    tool_tap=False,
    looks_off=False,
    band=CALM,
    speed=SPEED,
    depth=DEPTH,
    springs=SPRINGS,
    field=FIELD,
    peg_next=5,
)


def alert(
    said: Said,
    chips: tuple[Chip, ...] = (),
    more: int = 0,
    quieting: Quieting = Quieting.CAN_QUIET,
    left_s: float | None = None,
) -> BandView:
    """A band with an alert."""
    return BandView(
        said.level,
        said.headline,
        said.action,
        said.short,
        said.arrow,
        onset=1,
        chips=chips,
        more=more,
        quieting=quieting,
        quiet_left_s=left_s,
    )


def calm(
    headline: str,
    action: str,
    short: str = "",
    mark: TileState = T.FREE,
    quieting: Quieting = Quieting.SOUND_ON,
) -> BandView:
    """A band without one."""
    return BandView(None, headline, action, short or action, mark=mark, quieting=quieting)


FAST = replace(SPEED, state=T.ABOVE, value_mps=7.6 * MPH_MPS, word="FAST", framed=True)
HARD = replace(SPEED, state=T.BELOW, value_mps=4.5 * MPH_MPS, word="HARD", framed=True)
SHALLOW = replace(
    DEPTH,
    state=T.ABOVE,
    value_m=12.4 * INCH_M,
    front_m=12.4 * INCH_M,
    rear_m=12.4 * INCH_M,
    word="SHALLOW",
    framed=True,
)
DEEP = replace(
    DEPTH,
    state=T.BELOW,
    value_m=16.0 * INCH_M,
    front_m=16.0 * INCH_M,
    rear_m=16.0 * INCH_M,
    word="DEEP",
    framed=True,
)
DOWN = replace(DEPTH, state=T.ACT, word="IN SOIL", framed=True)
NO_SPEED = SpeedView(T.NO_READING, None, SPEED.low_mps, SPEED.high_mps, lost_s=12.0)
NO_DEPTH = DepthView(T.NO_READING, target_m=DEPTH.target_m, lost_s=12.0, framed=True)
NO_SPRINGS = SpringsView(T.NO_READING, SPRINGS.shanks, framed=True, lost_s=5.0)
NOT_LIVE = replace(
    DEPTH,
    state=T.NOT_LIVE,
    value_m=None,
    front_m=None,
    rear_m=None,
    side=None,
    dug=DugView(13.5 * INCH_M, 2 * 3600.0, 21 * ACRE_M2),
)
UP = SpringsView(T.ACT, shanks({5: ShankState.STAYED_UP}), number=5, word="UP", framed=True)
IDLE = SpringsView(
    T.BELOW, shanks({2: ShankState.NOT_PULLING}), number=2, word="SLACK", framed=True
)
HIGH_SHARES = (0.75, 0.80, 0.82, 0.83, 0.94, 0.81, 0.68)
HIGH = SpringsView(
    T.ABOVE, shanks({5: ShankState.HIGH}, HIGH_SHARES), 0.94, number=5, word="LOAD", framed=True
)
HARD_SHARES = (0.72, 0.78, 0.81, 0.84, 0.87, 0.80, 0.66)
HOOKED_SHARES = (*SHARES[:3], 1.18, 1.1, 0.7, 0.6)
NOT_COUNTING = replace(FIELD, rate_m2_s=None, finish="")
"""Without a speed: what is done and left stays true, a rate would not."""
LIFTED_DEPTH = replace(DEPTH, state=T.LIFTED, value_m=None, front_m=None, rear_m=None, side=None)
LIFTED_SPRINGS = SpringsView(T.LIFTED, BARE)
STARTING_DEPTH = DepthView(T.STARTING, target_m=None)
RECEIVER_ONLY = replace(
    IN_BAND,
    band=calm("SPEED ONLY", "Depth not measured, speed in band", "Depth not measured", T.NOT_LIVE),
    depth=NOT_LIVE,
    springs=SpringsView(T.NOT_LIVE),
    tool_button=ToolButton(True),
    tool_tap=True,
)
LIFTED = replace(
    IN_BAND,
    phase=Phase.LIFTED,
    band=calm("LIFTED", "Work is not judged", mark=T.LIFTED),
    speed=replace(SPEED, state=T.LIFTED, value_mps=4.1 * MPH_MPS),
    depth=LIFTED_DEPTH,
    springs=LIFTED_SPRINGS,
)
STANDING = replace(
    LIFTED,
    phase=Phase.STANDING,
    moving=False,
    band=calm("STANDING", "Menu opens Set up and Shifts", "Menu opens Set up", T.LIFTED),
    speed=replace(SPEED, state=T.FREE, value_mps=0.0),
)
NO_POSITION = replace(
    IN_BAND,
    band=alert(say(Rule.NO_POSITION, next_step=next_step("receiver_plug"))),
    speed=replace(NO_SPEED, framed=True),
    field=NOT_COUNTING,
    parked_hold=True,
)
FAST_CHIP = Chip(Level.LOOK, "FAST", Arrow.DOWN)
PIPE_CHIP = Chip(Level.LOOK, "PIPE")


def _look(rule: Rule, variant: str = "", **values: object) -> BandView:
    return alert(say(rule, variant, **values))


def _metric() -> Snapshot:
    field = replace(FIELD, rate_m2_s=4.9 / 0.36, left_m2=80_000.0, dig_in_m2=50_000.0)
    speed = replace(SPEED, value_mps=10.2 * KMH_MPS)
    return replace(IN_BAND, units=UnitSystem.METRIC, speed=speed, field=field)


def _first_pass() -> Snapshot:
    field = replace(
        FIELD,
        area_m2=1.4 * ACRE_M2,
        rate_m2_s=11.8 * ACRE_M2 / 3600,
        left_m2=58 * ACRE_M2,
        finish="19:10",
        clock="07:24",
        row_angle_deg=18.0,
    )
    return replace(IN_BAND, field=field)


def _stopped_with(card: CardView) -> Snapshot:
    return replace(STANDING, card=card)


HAND_OVER = CardView(
    Card.HAND_OVER,
    (
        "Depth sensor 2, left: out of use this shift",
        "Shank 3 tripped 14 times, stones by the east side",
        "Pegs 3 and 4: wet, 200 ft before the pond",
        "Last dug 13 1/2 in, 2 h ago",
        "Look sounds are on",
    ),
)
WHO = CardView(
    Card.WHO_WHERE,
    ("Who drives, and where?",),
    ("driver:Jo", "driver:Sam", "field:North forty", "field:Long field"),
)

SCENES: dict[str, Callable[[], Snapshot]] = {
    "in-band": lambda: IN_BAND,
    "metric": _metric,
    "first-pass": _first_pass,
    "two-ranks": lambda: replace(
        IN_BAND, springs=replace(SPRINGS, shanks=shanks(places=TWO_RANKS))
    ),
    "about-to-alert": lambda: replace(
        IN_BAND,
        band=calm("WORKING", "Not all in band", mark=T.FREE),
        speed=replace(FAST, word="", framed=False),
        depth=replace(SHALLOW, word="", framed=False),
    ),
    "not-set-today": lambda: replace(
        IN_BAND,
        band=calm(
            "NOT SET TODAY", "Judged by the rig's usual band", "By the rig's usual band", T.NOT_LIVE
        ),
    ),
    "too-fast": lambda: replace(IN_BAND, band=_look(Rule.TOO_FAST, speed="7"), speed=FAST),
    "hard-here": lambda: replace(
        IN_BAND,
        band=_look(Rule.HARD_HERE),
        speed=HARD,
        springs=SpringsView(T.IN_BAND, shanks(shares=HARD_SHARES), 0.87),
    ),
    "above-layer": lambda: replace(
        IN_BAND, band=_look(Rule.ABOVE_LAYER, advice="Deeper 1 1/2 in"), depth=SHALLOW
    ),
    "too-deep": lambda: replace(
        IN_BAND, band=_look(Rule.DEPTH, "deep", advice="Shallower 2 in"), depth=DEEP
    ),
    "two-alerts": lambda: replace(
        IN_BAND,
        band=alert(say(Rule.ABOVE_LAYER, advice="Deeper 1 1/2 in"), (FAST_CHIP,)),
        speed=FAST,
        depth=SHALLOW,
    ),
    "and-more": lambda: replace(
        IN_BAND,
        band=alert(
            say(Rule.SHANK_UP, shank=5),
            (Chip(Level.NO_READING, "DEPTH"), Chip(Level.LOOK, "STONES", Arrow.DOWN)),
            3,
        ),
        speed=FAST,
        depth=NO_DEPTH,
        springs=UP,
    ),
    "ease-off": lambda: replace(
        IN_BAND, band=_look(Rule.EASE_OFF, "one", half_step="1/2 in", shank=5), springs=HIGH
    ),
    "not-pulling": lambda: replace(IN_BAND, band=_look(Rule.NOT_PULLING, shank=2), springs=IDLE),
    "tripping": lambda: replace(
        IN_BAND,
        band=_look(Rule.TRIPPING, shank=3),
        springs=replace(HIGH, number=3, word="TRIPS", shanks=shanks({3: ShankState.HIGH})),
    ),
    "stones": lambda: replace(IN_BAND, band=_look(Rule.STONES)),
    "slip": lambda: replace(IN_BAND, band=_look(Rule.SLIP, percent=19)),
    "rear-low": lambda: replace(
        IN_BAND,
        band=_look(Rule.LEVEL, "rear_low"),
        depth=replace(
            DEPTH, front_m=13.2 * INCH_M, rear_m=14.8 * INCH_M, word="REAR LOW", framed=True
        ),
    ),
    "left-low": lambda: replace(
        IN_BAND,
        band=_look(Rule.LEVEL, "left_low"),
        depth=replace(DEPTH, side=0.65, word="LEFT LOW", framed=True),
    ),
    "level-unknown": lambda: replace(
        IN_BAND,
        band=replace(CALM, action="all 11 reading", short="all 11 reading"),
        depth=replace(DEPTH, front_m=None, rear_m=None, side=None),
    ),
    "tool-is-up": lambda: replace(LIFTED, band=_look(Rule.TOOL_IS_UP)),
    "pipe-ahead": lambda: replace(
        IN_BAND, band=_look(Rule.PIPE_AHEAD, distance=distance_text(60.0, UnitSystem.US))
    ),
    "pipe-beside": lambda: replace(
        IN_BAND, band=alert(say(Rule.TOO_FAST, speed="7"), (PIPE_CHIP,)), speed=FAST
    ),
    "quieted": lambda: replace(
        IN_BAND,
        band=alert(say(Rule.TOO_FAST, speed="7"), quieting=Quieting.QUIETED, left_s=530.0),
        speed=FAST,
        field=replace(FIELD, note="Stone ahead, 200 ft"),
    ),
    "look-sounds-off": lambda: replace(
        IN_BAND, looks_off=True, band=replace(CALM, quieting=Quieting.LOOKS_OFF)
    ),
    "look-off-alert": lambda: replace(
        IN_BAND,
        looks_off=True,
        band=alert(say(Rule.TOO_FAST, speed="7"), quieting=Quieting.LOOKS_OFF),
        speed=FAST,
    ),
    "stop-shank": lambda: replace(IN_BAND, band=_look(Rule.SHANK_UP, shank=5), springs=UP),
    "stop-shank-quieted": lambda: replace(
        IN_BAND,
        band=alert(say(Rule.SHANK_UP, shank=5), quieting=Quieting.QUIETED, left_s=22.0),
        springs=UP,
    ),
    "stop-backing": lambda: replace(
        IN_BAND,
        phase=Phase.BACKING,
        band=_look(Rule.BACKING),
        speed=SpeedView(T.FREE, 1.7 * MPH_MPS, SPEED.low_mps, SPEED.high_mps, "BACKING"),
        depth=DOWN,
    ),
    "straighten": lambda: replace(
        IN_BAND,
        phase=Phase.TURNING,
        band=_look(Rule.TURNING_HARD),
        speed=replace(SPEED, value_mps=5.1 * MPH_MPS),
        depth=DOWN,
    ),
    "straighten-look": lambda: replace(
        IN_BAND,
        phase=Phase.TURNING,
        band=_look(Rule.TURNING),
        depth=replace(DEPTH, word="IN SOIL", framed=True),
    ),
    "hooked": lambda: replace(
        IN_BAND,
        band=_look(Rule.HOOKED),
        speed=replace(SPEED, state=T.FREE, value_mps=0.2 * MPH_MPS),
        springs=replace(
            UP,
            number=None,
            word="HOOK",
            worst_share=1.18,
            shanks=shanks({4: ShankState.HELD, 5: ShankState.HELD}, HOOKED_SHARES),
        ),
        depth=replace(DEPTH, state=T.FREE),
    ),
    "digging-in": lambda: replace(
        IN_BAND,
        band=_look(Rule.DIGGING_IN),
        speed=replace(SPEED, state=T.BELOW, value_mps=1.9 * MPH_MPS),
        depth=DOWN,
    ),
    "no-depth": lambda: replace(
        IN_BAND,
        band=_look(Rule.NO_DEPTH, next_step=next_step("cable", 2, "left")),
        depth=NO_DEPTH,
    ),
    "no-springs": lambda: replace(
        IN_BAND,
        band=_look(Rule.NO_SPRINGS, next_step=next_step("cable", 5)),
        springs=NO_SPRINGS,
    ),
    "one-spring-lost": lambda: replace(
        IN_BAND,
        band=_look(Rule.NO_SPRINGS, "one", shank=3, next_step=next_step("cable", 3)),
        springs=replace(SPRINGS, shanks=shanks({3: ShankState.NO_READING})),
    ),
    "no-position": lambda: NO_POSITION,
    "no-switch": lambda: replace(IN_BAND, band=_look(Rule.NO_SWITCH)),
    "up-or-down": lambda: replace(
        IN_BAND, band=_look(Rule.UP_OR_DOWN), depth=NO_DEPTH, springs=NO_SPRINGS
    ),
    "not-saving": lambda: replace(
        IN_BAND, band=_look(Rule.NOT_SAVING, next_step=next_step("disk_full"))
    ),
    "no-sound": lambda: replace(
        IN_BAND, band=alert(say(Rule.NO_SOUND), quieting=Quieting.NO_SOUND)
    ),
    "out-of-use": lambda: replace(
        IN_BAND,
        band=calm("PART KNOWN", "Depth out of use, rest in band", "Depth out of use", T.NOT_LIVE),
        depth=DepthView(T.OUT_OF_USE, target_m=DEPTH.target_m),
    ),
    "springs-out-of-use": lambda: replace(
        IN_BAND,
        band=calm(
            "PART KNOWN", "Springs out of use, rest in band", "Springs out of use", T.NOT_LIVE
        ),
        springs=SpringsView(T.OUT_OF_USE, SPRINGS.shanks),
    ),
    "receiver-only": lambda: RECEIVER_ONLY,
    "receiver-only-up": lambda: replace(
        RECEIVER_ONLY,
        phase=Phase.LIFTED,
        band=calm("LIFTED", "Work is not judged", mark=T.LIFTED),
        speed=replace(SPEED, state=T.LIFTED, value_mps=4.1 * MPH_MPS),
        tool_button=ToolButton(False),
    ),
    "receiver-only-unsure": lambda: replace(
        RECEIVER_ONLY,
        phase=Phase.UNKNOWN,
        band=calm("WAITING", "up or down is not known yet", "up or down?", T.STARTING),
        speed=replace(SPEED, state=T.FREE, value_mps=2.4 * MPH_MPS),
        depth=replace(NOT_LIVE, dug=None),
        tool_button=ToolButton(None),
    ),
    "lifted": lambda: LIFTED,
    "turning": lambda: replace(
        LIFTED, phase=Phase.TURNING, band=calm("TURNING", "Work is not judged", mark=T.LIFTED)
    ),
    "on-the-road": lambda: replace(
        LIFTED,
        phase=Phase.ROAD,
        band=calm("ON THE ROAD", "Nothing is judged", mark=T.LIFTED),
        speed=replace(SPEED, state=T.LIFTED, value_mps=16.4 * MPH_MPS),
    ),
    "standing": lambda: STANDING,
    "starting": lambda: replace(
        IN_BAND,
        phase=Phase.UNKNOWN,
        band=calm(
            "STARTING", "Waiting for sensors, 4 s", mark=T.STARTING, quieting=Quieting.UNKNOWN
        ),
        speed=SpeedView(T.STARTING, None, SPEED.low_mps, SPEED.high_mps),
        depth=STARTING_DEPTH,
        springs=SpringsView(T.STARTING, SPRINGS.shanks),
        field=NOT_COUNTING,
    ),
    "peg-kind": lambda: replace(
        IN_BAND, peg_next=6, card=CardView(Card.PEG_KIND), field=replace(FIELD, note="Peg 5 saved")
    ),
    "who-where": lambda: replace(IN_BAND, card=WHO),
    "hand-over": lambda: _stopped_with(HAND_OVER),
    "stop-reason": lambda: _stopped_with(CardView(Card.STOP_REASON)),
    "plugged": lambda: _stopped_with(CardView(Card.PLUGGED)),
    "continued": lambda: _stopped_with(
        CardView(
            Card.CONTINUED,
            (
                "Power was lost for 4 min at 13:05.",
                "Nothing is on record for that time.",
                "The shift goes on in the same field.",
            ),
        )
    ),
    "aside-offered": lambda: replace(
        STANDING, depth=replace(NO_DEPTH, framed=False), speed=STANDING.speed
    ),
}
"""Name to snapshot; the names are those of the pictures."""

# What a person has brought in front, per picture, by the name of screens.fronts.Front.
FRONTS: dict[str, tuple[str, str]] = {
    "menu-moving": ("in-band", "menu"),
    "menu-moving-receiver": ("receiver-only", "menu"),
    "menu-no-position": ("no-position", "menu"),
    "menu-parked": ("standing", "menu"),
    "menu-more": ("standing", "more"),
    "parked-hold": ("no-position", "parked"),
    "set-aside": ("aside-offered", "aside"),
}
