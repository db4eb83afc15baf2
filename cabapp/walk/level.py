"""Step 4: the frame level front to back, then side to side, on firm ground."""

from cabapp.units import UnitSystem, fraction_text
from cabapp.walk.entries import Answers
from cabapp.walk.findings import About, Finding, Verdict, length_figure, length_words

CORNERS = ("front_left", "front_right", "rear_left", "rear_right")


def level(answers: Answers, about: About) -> Finding:
    """One adjustment at a time: the link first, then the low wing.

    Frame heights are measured to the ground, so the low end has the smaller figure.
    """
    heights = {key: answers.value(key) for key in CORNERS}
    missing = tuple(key.replace("_", " ") for key, value in heights.items() if value is None)
    if missing:
        return Finding(Verdict.OPEN, "Measure the frame at all four corners", missing=missing,
                       cautions=("raised", "leave_seat"))  # fmt: skip
    fl, fr, rl, rr = (value for value in heights.values() if value is not None)
    rear_high = (rl + rr) / 2 - (fl + fr) / 2
    left_high = (fl + rl) / 2 - (fr + rr) / 2
    twist = (fl + rr) / 2 - (fr + rl) / 2
    limit = about.rig.limits.level_standing_m
    system = about.system
    values = {"rear_high": rear_high, "left_high": left_high}
    sums = (
        f"Rear {length_figure((rl + rr) / 2, system)} less front "
        f"{length_figure((fl + fr) / 2, system)} = {length_words(rear_high, system)}",
        f"Left {length_figure((fl + rl) / 2, system)} less right "
        f"{length_figure((fr + rr) / 2, system)} = {length_words(left_high, system)}",
    )
    if abs(rear_high) > limit:
        return _adjust(*_link(rear_high, answers, system), sums, values)
    if abs(left_high) > limit:
        low = "right" if left_high > 0 else "left"
        return _adjust(f"Raise the {low} wing {length_words(abs(left_high), system)}",
                       "Cycle the wing cylinders fully first; look at the tyre pressure there.",
                       sums, values)  # fmt: skip
    if abs(twist) > 2 * limit:
        return _adjust(
            "The frame is twisted: look for a flat tyre or a bent arm",
            f"One diagonal is {length_words(abs(twist), system)} higher.",
            sums,
            values,
        )
    return Finding(
        Verdict.PASS, f"Level within {length_words(limit, system)}", "", sums, values=values,
        summary=f"Within {length_words(limit, system)}",
    )  # fmt: skip


def _link(rear_high: float, answers: Answers, system: UnitSystem) -> tuple[str, str]:
    way = "Lengthen" if rear_high > 0 else "Shorten"
    end = "high" if rear_high > 0 else "low"
    step = answers.value("link_step")
    detail = f"The rear is {length_words(abs(rear_high), system)} {end}. Then measure again."
    if step is None:
        return f"{way} the levelling link", detail
    turns = fraction_text(max(abs(rear_high) / step, 0.25), 4)
    return f"{way} the levelling link {turns} turns", detail


def _adjust(headline: str, detail: str, sums: tuple[str, ...], values: dict[str, float]) -> Finding:
    return Finding(Verdict.ADJUST, headline, detail, sums, ("a level frame",),
                   ("raised", "leave_seat"), "level", values, summary="not level yet")  # fmt: skip
