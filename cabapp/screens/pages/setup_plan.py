"""The plan: what the walk yields, with the speed band a person confirms, sent to Drive.

A plan of another field is used only after its questions are answered, one key each.
"""

from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING, Any

from cabapp.codec import from_plain, to_plain
from cabapp.plan import Plan, faults_of
from cabapp.screens.pages.paper import CHOSEN, GO, PLAIN
from cabapp.screens.pages.setup_list import where_and_when
from cabapp.screens.pages.setup_rooms import Room
from cabapp.screens.ruler import Rect
from cabapp.screens.theme import Role
from cabapp.units import KMH_MPS, MPH_MPS, UnitSystem, depth_text, shown_unit, shown_value
from cabapp.walk.planned import copied, copy_questions, make_plan, suggested_band_mps, zones_of
from cabapp.walk.progress import State

if TYPE_CHECKING:
    from cabapp.screens.pages.setup import SetupPage

STEP_MPS = {UnitSystem.US: 0.5 * MPH_MPS, UnitSystem.METRIC: 1.0 * KMH_MPS}
SLOWEST_MPS, FASTEST_MPS = 2 * MPH_MPS, 10 * MPH_MPS


@dataclass
class Draft:
    """The plan on its way: the band where a person moved it, the part of the field, and copying."""

    low_mps: float | None = None
    high_mps: float | None = None
    zone: str = ""
    copying: bool = False
    agreed: set[int] = field(default_factory=set)  # questions of a copy answered with yes
    sent: bool = False


def plain(plan: Plan) -> dict[str, Any]:
    """A plan as plain values for the book."""
    found: dict[str, Any] = to_plain(plan)
    return found


def earlier(page: "SetupPage") -> Plan | None:
    """The newest plan of another field, None where there is none."""
    kept = page.book.last_plan()
    if kept is None:
        return None
    known = {key: value for key, value in kept.items() if key in Plan.__dataclass_fields__}
    try:
        plan: Plan = from_plain(Plan, known)
    except (TypeError, ValueError):  # kept by another version
        return None
    return plan if plan.field != page.book.field and page.book.field else None


def band(page: "SetupPage") -> tuple[float, float]:
    """The speed band as it stands: moved by a person, else what tool and depth suggest."""
    assert page.now is not None
    target = page.now.of("shank_depth").finding.values.get("target")
    depth = target or page.rig.limits.depth_target_m
    if depth is None:
        low, high = page.rig.limits.speed_low_mps, page.rig.limits.speed_high_mps
    else:
        low, high = suggested_band_mps(depth, page.rig.tool)
    return page.draft.low_mps or low, page.draft.high_mps or high


def plan_of(page: "SetupPage") -> Plan | None:
    """The plan to send; None while it is unsound or a copy's questions are open."""
    assert page.now is not None
    book, draft = page.book, page.draft
    low, high = band(page)
    if draft.copying:
        other = earlier(page)
        if other is None or len(draft.agreed) < len(copy_questions(other, book.field, page.units)):
            return None
        plan = replace(copied(other, book.field), speed_low_mps=low, speed_high_mps=high,
                       driver=book.driver, made_by=book.driver, made_utc=book.utc)  # fmt: skip
    else:
        zones = zones_of(page.now)
        if zones and draft.zone not in zones:
            return None
        plan = make_plan(page.now, page.rig, book.field, book.driver, book.utc, (low, high),
                         draft.zone)  # fmt: skip
    return None if faults_of(plan) else plan


def write(page: "SetupPage") -> None:
    """What will stand on Drive, the speed band to confirm, and the key that sends it."""
    page.head("Plan", where_and_when(page), "Steps", lambda: _leave(page))
    half = (page.right - 24 - 32) / 2
    small = page.layout.small
    top = 166.0 if small else 150.0
    if page.draft.copying:
        _copy(page, Rect(24, top, half, page.bottom - top))
    else:
        _numbers(page, Rect(24, top, half, page.bottom - top))
    _speed(page, Rect(24 + half + 32, top, half, 300))
    _foot(page, Rect(24 + half + 32, page.bottom - 236, half, 236))


def _leave(page: "SetupPage") -> None:
    page.draft.sent = False
    page.go(Room.LIST)


def _numbers(page: "SetupPage", r: Rect) -> None:
    assert page.now is not None
    plan = plan_of(page)
    depth, layer = page.now.of("shank_depth"), page.now.of("hard_layer")
    rows = [("Depth", _depth_words(page, plan)), ("Hard layer", _layer_words(page, plan))]
    if plan is not None and plan.row_bearing_deg is not None:
        rows.append(("Old rows", f"{plan.row_bearing_deg:.0f} deg"))
    if plan is not None and plan.area_m2 is not None:
        area = shown_value(plan.area_m2, "area", page.units)
        rows.append(("Field", f"{area:g} {shown_unit('area', page.units)}"))
    y = r.y + 32
    for name, words in rows:
        page.paper.say(name, r.x, y, 24, Role.SOFT, False)
        page.paper.say(words, r.x + 170, y, 28, limit=r.w - 170)
        y += 54
    for standing in (depth, layer):
        if standing.state is not State.DONE:
            text = f"{standing.step.title}: {standing.state.value}. {standing.why}"
            y = page.paper.lines(text, r.x, y, 22, r.w, 2, Role.SOFT, False, 1.42) + 6
    for text in page.now.checks_open[:2]:
        page.paper.sign("look", r.x - 2, y - 28, 36, Role.INK)
        page.paper.sign("look", r.x + 1, y - 25, 30, Role.LOOK, hole=Role.ON_LOOK)
        y = page.paper.lines(text, r.x + 46, y, 22, r.w - 46, 2, pitch=1.42) + 6
    _zone_keys(page, Rect(r.x, r.bottom - 106, r.w, 106))
    if not zones_of(page.now) and earlier(page) is not None and not depth.finding.done:
        rect = Rect(r.x, r.bottom - 106, r.w, 106)
        other = earlier(page)
        assert other is not None
        page.paper.key("copy", rect, partial(_copying, page, True), "Use an earlier plan",
                       f"of {other.field}", high=28)  # fmt: skip


def _depth_words(page: "SetupPage", plan: Plan | None) -> str:
    if plan is None or plan.depth_target_m is None:
        return "not known"
    words = depth_text(plan.depth_target_m, page.units)
    if plan.depth_low_m is None or plan.depth_high_m is None:
        return words
    low, high = (depth_text(v, page.units) for v in (plan.depth_low_m, plan.depth_high_m))
    return f"{words} ({low.rsplit(' ', 1)[0]} to {high})"


def _layer_words(page: "SetupPage", plan: Plan | None) -> str:
    if plan is None or plan.layer_bottom_m is None:
        return "not known"
    bottom = depth_text(plan.layer_bottom_m, page.units)
    if plan.layer_top_m is None:
        return f"to {bottom}"
    return f"{depth_text(plan.layer_top_m, page.units).rsplit(' ', 1)[0]} to {bottom}"


def _zone_keys(page: "SetupPage", r: Rect) -> None:
    assert page.now is not None
    zones = zones_of(page.now)
    if not zones:
        return
    page.paper.say("Which part do you work now?", r.x, r.y - 16, 24, limit=r.w)
    wide = (r.w - 18 * (len(zones) - 1)) / len(zones)
    for i, zone in enumerate(zones):
        look = CHOSEN if zone == page.draft.zone else PLAIN
        page.paper.key(f"zone_{zone}", Rect(r.x + i * (wide + 18), r.y, wide, r.h),
                       partial(_zone, page, zone), f"Part {zone}", look=look)  # fmt: skip


def _zone(page: "SetupPage", zone: str) -> None:
    page.draft.zone, page.draft.sent = zone, False
    page.again()


def _speed(page: "SetupPage", r: Rect) -> None:
    paper, units = page.paper, page.units
    low, high = band(page)
    unit = shown_unit("speed", units)
    paper.say(f"Speed band, {unit}", r.x, r.y + 30, 24, Role.SOFT, False, limit=r.w)
    for i, (name, value) in enumerate((("low", low), ("high", high))):
        y = r.y + 50 + i * 122
        paper.key(f"{name}_less", Rect(r.x, y, 118, 106), partial(_move, page, name, -1),
                  sign="minus")  # fmt: skip
        paper.key(f"{name}_more", Rect(r.x + r.w - 118, y, 118, 106),
                  partial(_move, page, name, 1), sign="plus")  # fmt: skip
        word = "from" if name == "low" else "to"
        paper.say(word, r.x + 142, y + 68, 24, Role.SOFT, False)
        paper.say(f"{shown_value(value, 'speed', units):.1f}", r.x + r.w / 2 + 20, y + 76, 48,
                  digits=True, align="middle")  # fmt: skip
    moved = page.draft.low_mps or page.draft.high_mps
    words = "As you set it." if moved else "Suggested by tool and depth: common practice."
    paper.lines(words, r.x, r.y + 318, 22, r.w, 2, Role.SOFT, False, 1.42)


def _move(page: "SetupPage", name: str, way: int) -> None:
    low, high = band(page)
    step = STEP_MPS[page.units]
    value = (low if name == "low" else high) + way * step
    new = (value, high) if name == "low" else (low, value)
    if SLOWEST_MPS - 1e-6 <= new[0] < new[1] - step / 2 and new[1] <= FASTEST_MPS + 1e-6:
        page.draft.low_mps, page.draft.high_mps = new
        page.draft.sent = False
    page.again()


def _foot(page: "SetupPage", r: Rect) -> None:
    paper, plan = page.paper, plan_of(page)
    y = r.bottom - 106
    if page.draft.sent:
        paper.sign("done", r.x, y - 56, 40)
        paper.say("Sent: this stands on Drive now", r.x + 58, y - 24, 26, limit=r.w - 58)
        paper.key("drive", Rect(r.x, y, r.w, 106), page.back, "To Drive", look=GO, high=34)
    elif plan is None and page.draft.copying:
        if not page.layout.small:
            paper.say("Yes to all of them, or", r.x, y - 16, 24, Role.SOFT, False, limit=r.w)
        paper.key("no_copy", Rect(r.x, y, r.w, 106), partial(_copying, page, False),
                  "No: walk this field")  # fmt: skip
    elif plan is None:
        paper.say("Choose a part first.", r.x, y + 60, 26, Role.SOFT, limit=r.w)
    else:
        word = "Drive by this" if plan.set_today else "Drive by it, not set today"
        paper.key("send", Rect(r.x, y, r.w, 106), page.send_plan, word, look=GO, high=34)


def _copying(page: "SetupPage", on: bool) -> None:
    page.draft.copying, page.draft.agreed, page.draft.sent = on, set(), False
    page.again()


def _copy(page: "SetupPage", r: Rect) -> None:
    """The questions before another field's plan is used here: each answered by its own key."""
    other = earlier(page)
    if other is None:
        page.draft.copying = False
        return
    paper, y = page.paper, r.y + 30
    paper.say(f"Plan of {other.field} in this field", r.x, y, 28, limit=r.w)
    y += 26
    for i, words in enumerate(copy_questions(other, page.book.field, page.units)):
        agreed = i in page.draft.agreed
        paper.lines(words, r.x, y + 30, 22, r.w - 150, 3, pitch=1.42)
        paper.key(f"agree_{i}", Rect(r.x + r.w - 132, y, 132, 106), partial(_agree, page, i),
                  "Yes", look=CHOSEN if agreed else PLAIN)  # fmt: skip
        y += 122


def _agree(page: "SetupPage", i: int) -> None:
    page.draft.agreed ^= {i}
    page.again()
