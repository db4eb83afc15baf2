"""Depth target, advice in steps a hand can make, and learning the step from digs."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabapp import rig
from cabapp.trade.adjuster import follow
from cabapp.trade.depth import (
    Adjuster,
    AdjusterKind,
    Advice,
    Dig,
    Direction,
    WrongWay,
    advice_text,
    advise,
    finish_text,
    learn_response,
    steps_text,
    target_depth_m,
    with_response,
)
from cabapp.units import INCH_M, UnitSystem

US, METRIC = UnitSystem.US, UnitSystem.METRIC
CRANK = Adjuster(AdjusterKind.CRANK, 3 / 7 * INCH_M)
COLLARS = Adjuster(AdjusterKind.COLLARS, 0.75 * INCH_M, part_m=0.75 * INCH_M)
PINS = Adjuster(AdjusterKind.PINS, 1.0 * INCH_M)
SEAT = Adjuster(AdjusterKind.SEAT, 0.5 * INCH_M)


def inches(value: float) -> float:
    return value * INCH_M


def test_the_target_is_an_inch_under_the_layer_unless_said_otherwise() -> None:
    assert target_depth_m(inches(13)) == pytest.approx(inches(14))
    assert target_depth_m(inches(13), inches(2)) == pytest.approx(inches(15))


@pytest.mark.parametrize("bottom", [0.0, -0.3, math.nan, math.inf, 13.0])
def test_a_target_is_not_made_from_a_bottom_that_cannot_be(bottom: float) -> None:
    with pytest.raises(ValueError, match="expected"):
        target_depth_m(bottom)


def test_a_negative_margin_would_leave_the_layer_unbroken_and_is_refused() -> None:
    with pytest.raises(ValueError, match=r"margin_m: found -0\.01"):
        target_depth_m(0.3, -0.01)


def advice(adjuster: Adjuster, now_in: float, target_in: float) -> Advice:
    return advise(adjuster, inches(now_in), inches(target_in))


@pytest.mark.parametrize(
    ("adjuster", "now_in", "target_in", "words", "whole", "ending"),
    [
        (CRANK, 12.5, 14, "3 1/2 turns", "Deeper: 3 1/2 turns of the crank",
         "End turning deeper."),
        (CRANK, 14.4, 14, "1 turn", "Shallower: 1 turn of the crank",
         "Go 2 turns past, end turning deeper."),
        (COLLARS, 14.75, 14, "add one 3/4 in collar each side",
         "Shallower: add one 3/4 in collar each side", "Lift, then let it down on its stop."),
        (COLLARS, 12.5, 14, "take out two 3/4 in collars each side",
         "Deeper: take out two 3/4 in collars each side", "Lift, then let it down on its stop."),
        (PINS, 12, 14, "2 holes", "Deeper: 2 holes", "Lift, then let it down on its stop."),
        (PINS, 13, 14.2, "1 hole", "Deeper: 1 hole", "Lift, then let it down on its stop."),
        (SEAT, 12.5, 14, "1 1/2 in", "Deeper 1 1/2 in", "Lift, then let it down on its stop."),
        (CRANK, 14.05, 14, "leave it", "Leave it: no step brings it nearer", ""),
    ],
)  # fmt: skip
def test_advice_is_said_in_the_steps_of_the_adjuster(
    adjuster: Adjuster, now_in: float, target_in: float, words: str, whole: str, ending: str
) -> None:
    found = advice(adjuster, now_in, target_in)
    assert steps_text(found, US) == words
    assert advice_text(found, US) == whole
    assert finish_text(found, US) == ending


def test_metric_words() -> None:
    assert steps_text(advice(COLLARS, 14.75, 14), METRIC) == "add one 19 mm collar each side"
    assert advice_text(advice(SEAT, 12.5, 14), METRIC) == "Deeper 4 cm"


def test_which_way_a_collar_works_is_a_fact_of_the_rig() -> None:
    other_way = Adjuster(AdjusterKind.COLLARS, inches(1), adding_goes=Direction.DEEPER)
    assert steps_text(advice(other_way, 12, 14), US) == "add two collars each side"
    assert steps_text(advice(other_way, 14, 12), US) == "take out two collars each side"


def test_the_crank_always_ends_the_same_way() -> None:
    # Against its last movement it is turned past and back; with it, straight.
    up = Adjuster(AdjusterKind.CRANK, inches(0.5), finish=Direction.SHALLOWER)
    down = Adjuster(AdjusterKind.CRANK, inches(0.5), finish=Direction.DEEPER)
    assert advice(down, 12, 14).beyond == 0.0
    assert advice(up, 14, 12).beyond == 0.0
    assert advice(down, 14, 12).beyond > 0.0
    assert advice(up, 12, 14).beyond > 0.0


def test_advice_stops_where_the_parts_end_and_says_what_is_missing() -> None:
    nearly_out = Adjuster(AdjusterKind.PINS, inches(1), setting=4, least=0, most=5)
    found = advice(nearly_out, 12, 15)
    assert found.steps == 1
    assert found.expected_m == pytest.approx(inches(13))
    assert "2 in short" in finish_text(found, US)
    at_the_end = advice(follow(nearly_out, found), 13, 15)
    assert at_the_end.direction is None
    assert "2 in short" in finish_text(at_the_end, US)


def test_an_adjuster_is_made_from_what_the_rig_says() -> None:
    fitted = rig.Adjuster(
        rig.AdjusterKind.COLLARS,
        inches(1.0),
        0.25,
        last_deeper=False,
        adding_is_deeper=True,
        part_m=inches(0.5),
    )
    made = Adjuster.of(fitted)
    assert (
        steps_text(advise(made, inches(12), inches(14)), US) == "add two 1/2 in collars each side"
    )
    assert made.finish is Direction.SHALLOWER
    assert made.adding_goes is Direction.DEEPER
    assert advise(made, inches(12.4), inches(14)).steps == 2  # collars are never divided
    crank = Adjuster.of(rig.Adjuster(rig.AdjusterKind.CRANK, inches(1.0), 0.25))
    assert advise(crank, inches(12.7), inches(14)).steps == 1.25


@given(st.sampled_from([CRANK, COLLARS, PINS, SEAT]), st.floats(0.0, 0.6), st.floats(0.05, 0.6))
def test_no_other_step_would_come_nearer_to_the_target(
    adjuster: Adjuster, now_m: float, target_m: float
) -> None:
    found = advise(adjuster, now_m, target_m)
    assert abs(found.expected_m - target_m) <= adjuster.smallest * adjuster.step_m / 2 + 1e-9
    assert found.expected_m == pytest.approx(now_m + found.moved * adjuster.step_m)
    assert (found.steps / adjuster.smallest) % 1 == 0


@pytest.mark.parametrize(
    ("now", "target"), [(math.nan, 0.3), (0.3, math.nan), (-0.1, 0.3), (0.3, 0)]
)
def test_advice_on_a_depth_that_cannot_be_is_refused(now: float, target: float) -> None:
    with pytest.raises(ValueError, match="found"):
        advise(CRANK, now, target)


@pytest.mark.parametrize("step", [0.0, -0.01, math.nan])
def test_an_adjuster_without_a_step_is_refused(step: float) -> None:
    with pytest.raises(ValueError, match="step_m: found"):
        Adjuster(AdjusterKind.CRANK, step)


def test_adjuster_ends_turned_round_are_refused() -> None:
    with pytest.raises(ValueError, match="swap the two ends"):
        Adjuster(AdjusterKind.PINS, 0.02, setting=1, least=5, most=0)


# Learning


@given(st.floats(0.002, 0.03), st.floats(0.1, 0.4), st.lists(st.integers(-5, 5), min_size=2))
def test_digs_on_a_line_give_the_line(step_m: float, zero_m: float, settings: list[int]) -> None:
    if len(set(settings)) < 2:
        settings = [0, 1]
    digs = [Dig(setting, zero_m + 0.2 + step_m * setting) for setting in settings]
    learned = learn_response(digs)
    assert learned.step_m == pytest.approx(step_m, rel=1e-9)
    assert learned.depth_at_zero_m == pytest.approx(zero_m + 0.2, rel=1e-9)
    assert learned.worst_m < 1e-9


def test_a_dig_before_the_play_was_out_is_left_aside_when_two_good_ones_are_there() -> None:
    digs = [
        Dig(0, inches(10.9), None),  # resting on the other side of the play
        Dig(4, inches(12), Direction.DEEPER),
        Dig(6, inches(13), Direction.DEEPER),
    ]
    assert learn_response(digs).step_m == pytest.approx(inches(0.5))
    assert learn_response(digs).play_out
    assert not learn_response(digs[:2]).play_out


def test_how_far_the_digs_lie_from_their_line_is_told() -> None:
    learned = learn_response([Dig(0, 0.30), Dig(1, 0.34), Dig(2, 0.32), Dig(3, 0.36)])
    assert learned.step_m == pytest.approx(0.016)
    assert learned.depth_at_zero_m == pytest.approx(0.306)
    assert learned.worst_m == pytest.approx(0.018)
    assert (learned.digs, learned.span) == (4, 3)


@pytest.mark.parametrize(
    ("digs", "mend"),
    [
        ([Dig(0, 0.3)], "dig again after moving"),
        ([Dig(0, 0.3), Dig(0, 0.31)], "move the adjuster a whole step"),
        ([Dig(0, 0.3), Dig(2, 0.28)], "which way the adjuster works"),
        ([Dig(0, 0.3), Dig(2, 0.3)], "which way the adjuster works"),
        ([Dig(0, 0.3), Dig(2, math.nan)], "untouched surface"),
        ([Dig(math.nan, 0.3), Dig(2, 0.3)], "count the steps"),
        ([Dig(0, -0.3), Dig(2, 0.3)], "untouched surface"),
    ],
)
def test_digs_that_teach_nothing_are_refused_with_the_mend(digs: list[Dig], mend: str) -> None:
    with pytest.raises(ValueError, match=mend):
        learn_response(digs)


def test_depth_that_goes_the_other_way_is_a_finding_of_its_own() -> None:
    with pytest.raises(WrongWay):
        learn_response([Dig(0, 0.3), Dig(2, 0.28)])


def test_digs_far_apart_outweigh_the_stated_step_and_digs_close_by_hardly_move_it() -> None:
    stated = Adjuster(AdjusterKind.CRANK, inches(0.4))
    far = learn_response(
        [Dig(0, inches(10), Direction.DEEPER), Dig(8, inches(14), Direction.DEEPER)]
    )
    near = learn_response([Dig(0, inches(10)), Dig(1, inches(10.5))])
    assert with_response(stated, far).step_m == pytest.approx(inches(0.5), rel=0.02)
    assert with_response(stated, near).step_m == pytest.approx(inches(0.4), rel=0.06)
    assert with_response(stated, far).learned


class Machine:
    """A crank with play: the points follow only when its slack is taken up."""

    def __init__(self, seed: int, *, play_taken_out: bool, dig_error_in: float) -> None:
        dice = random.Random(seed)
        self.finish = dice.choice(list(Direction))
        self.stated = Adjuster(AdjusterKind.CRANK, inches(0.43), finish=self.finish)
        self.step_m = self.stated.step_m * dice.uniform(0.75, 1.25)
        self.target_m = inches(dice.uniform(8, 18))
        off_m = inches(dice.uniform(-4, 4))
        self.play = 0.10 * abs(off_m) / self.step_m  # a tenth of the way to go
        rests = -self.finish.sign * self.play / 2
        self.screw = 0.0
        self.nut = rests if play_taken_out else dice.uniform(-self.play / 2, self.play / 2)
        self.zero_m = self.target_m + off_m - self.nut * self.step_m
        self.dice, self.dig_error_m = dice, inches(dig_error_in)

    @property
    def depth_m(self) -> float:
        return self.zero_m + self.nut * self.step_m

    def dig(self) -> float:
        return self.depth_m + self.dice.uniform(-self.dig_error_m, self.dig_error_m)

    def turn(self, turns: float) -> None:
        self.screw += turns
        self.nut = min(max(self.nut, self.screw - self.play / 2), self.screw + self.play / 2)

    def obey(self, told: Advice) -> None:
        if told.direction is not None:
            self.turn(told.moved + told.direction.sign * told.beyond)
            self.turn(-told.direction.sign * told.beyond)

    def set_by_digging(self, *, play_taken_out: bool) -> float:
        """Dig, adjust, dig, adjust, dig: how many steps off the third dig finds it."""
        digs = [Dig(self.screw, self.dig(), self.finish if play_taken_out else None)]
        self.obey(advise(self.stated, digs[-1].depth_m, self.target_m))
        digs.append(Dig(self.screw, self.dig(), self.finish))
        taught = self.stated
        if abs(digs[1].setting - digs[0].setting) >= 2:
            taught = with_response(self.stated, learn_response(digs))
        self.obey(advise(taught, digs[-1].depth_m, self.target_m))
        return abs(self.depth_m - self.target_m) / self.step_m


def test_a_machine_with_a_tenth_of_play_is_within_half_a_turn_at_the_third_dig() -> None:
    # 1,500 machines whose step is up to a quarter off what is stated and whose play was taken
    # out before the first dig, dug to a sixteenth of an inch.
    worst = max(
        Machine(seed, play_taken_out=True, dig_error_in=1 / 16).set_by_digging(play_taken_out=True)
        for seed in range(1500)
    )
    assert worst <= 0.5


def test_even_where_nobody_took_the_play_out_before_the_first_dig() -> None:
    worst = max(
        Machine(seed, play_taken_out=False, dig_error_in=0).set_by_digging(play_taken_out=False)
        for seed in range(1500)
    )
    assert worst <= 0.5
