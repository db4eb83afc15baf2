"""Which picture a step shows for the question in hand."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from cabapp.screens.pages import setup_ground as ground
from cabapp.screens.pages import setup_tool as tool
from cabapp.screens.ruler import Rect
from cabapp.trade.clods import LARGEST_CLOD_M
from cabapp.trade.depth import DISC_DEPTH_M
from cabapp.walk.asked import Question
from cabapp.walk.findings import length_figure
from cabapp.walk.hard_layer import places
from cabapp.walk.judge import FRAMES
from cabapp.walk.level import CORNERS
from cabapp.walk.shank_depth import begun_rounds, shank_numbers

if TYPE_CHECKING:
    from cabapp.screens.pages.setup import SetupPage


def draw(page: "SetupPage", r: Rect, question: Question | None) -> None:
    """The step's picture in its place."""
    PICTURES[page.step_id](page, r, question)


def _checks(page: "SetupPage", r: Rect, question: Question | None) -> None:
    group = question.group if question is not None else ""
    if group == "Lines":
        tool.lines_overhead(page.paper, r)
    else:
        tool.from_above(page.paper, r, page.rig, group)


def _pull(page: "SetupPage", r: Rect, question: Question | None) -> None:
    finding = page.standing.finding
    values = finding.values
    need = None
    if "pto_needed_w" in values:
        need = (values["pto_low_w"], values["pto_needed_w"], values["pto_high_w"])
    rated = page.standing.answers.value("power") or page.rig.tractor.rated_pto_w
    tool.power(page.paper, r, need, rated, () if page.layout.small else finding.sums)


def _layer(page: "SetupPage", r: Rect, question: Question | None) -> None:
    found = places(page.standing.answers, page.units)
    number = _number(question)
    use = page.standing.finding.values.get("bottom")
    if page.standing.answers.choice(f"pit{number}_way") == "probe":
        place = next((p for p in found if p.number == number), None)
        ground.profile(page.paper, r, place, page.units)
    else:
        ground.pits(page.paper, r, found, number, use, page.units)


def _number(question: Question | None) -> int:
    digits = "".join(c for c in (question.key.split("_")[0] if question else "") if c.isdigit())
    return int(digits) if digits else 0


def _level(page: "SetupPage", r: Rect, question: Question | None) -> None:
    answers = page.standing.answers
    heights = {key: answers.value(key) for key in CORNERS}
    now = question.key if question is not None else ""
    tool.corners(page.paper, r, heights, now, page.units)


def _shanks(page: "SetupPage", r: Rect, question: Question | None) -> None:
    assert page.now is not None
    about, answers, system = page.now.about, page.standing.answers, page.units
    begun = begun_rounds(answers)
    dig = _number(question) or max(begun, default=1)
    depths = {n: answers.value(f"dig{dig}_shank{n}") for n in shank_numbers(about)}
    now = int(question.label) if question is not None and "_shank" in question.key else None
    top, bottom = about.value("hard_layer", "top"), about.value("hard_layer", "bottom")
    target = page.standing.finding.values.get("target")
    named = []
    for depth, word in ((top, "top "), (bottom, "bottom ")):
        if depth is not None:
            word = "" if page.layout.small else word
            named.append(ground.Line(depth, f"{word}{length_figure(depth, system)}"))
    if target is not None:
        named.append(ground.Line(target, f"set {length_figure(target, system)}", True))
    ground.slots(page.paper, r, depths, now, named, (top, bottom))


def _discs(page: "SetupPage", r: Rect, question: Question | None) -> None:
    answers = page.standing.answers
    if question is not None and not question.key.startswith("depth"):
        tool.from_above(page.paper, r, page.rig, "Front discs")
        return
    ground.discs(page.paper, r, answers.value("depth_left"), answers.value("depth_right"),
                 question.key if question is not None else "", DISC_DEPTH_M,
                 page.units)  # fmt: skip


def _rear(page: "SetupPage", r: Rect, question: Question | None) -> None:
    if question is not None and question.key in ("sticks", "finish_now", "follows"):
        tool.from_above(page.paper, r, page.rig, "Rear finish")
        return
    values = page.standing.finding.values
    ground.ridges(page.paper, r, page.standing.answers.value("ridge"), values.get("allowed_ridge"),
                  page.units)  # fmt: skip


def _judge(page: "SetupPage", r: Rect, question: Question | None) -> None:
    answers = page.standing.answers
    if question is not None and question.key == "ridges":
        assert page.now is not None
        allowed = page.now.about.value("rear_finish", "allowed_ridge")
        ground.ridges(page.paper, r, answers.value("ridges"), allowed, page.units)
        return
    counted = [
        (answers.value(f"frame{n}_largest"), answers.value(f"frame{n}_over") or 0.0,
         answers.value(f"frame{n}_all") or 0.0)
        for n in range(1, FRAMES + 1)
    ]  # fmt: skip
    frame = question is not None and question.key.startswith("frame")
    now = _number(question) if frame else 0
    tool.frames(page.paper, r, counted, now, LARGEST_CLOD_M, page.units)


def _road(page: "SetupPage", r: Rect, question: Question | None) -> None:
    answers = page.standing.answers
    tool.from_behind(page.paper, r, answers.value("width"), answers.value("height"), page.units)


PICTURES: dict[str, Callable[["SetupPage", Rect, Question | None], None]] = {
    "checks": _checks,
    "will_it_pull": _pull,
    "hard_layer": _layer,
    "level": _level,
    "shank_depth": _shanks,
    "front_discs": _discs,
    "rear_finish": _rear,
    "judge": _judge,
    "road": _road,
}
