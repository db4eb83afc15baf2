"""The diagnosis table: whole, one change at a time, and leading back to a set-up step."""

import pytest

from cabapp.trade.diagnosis import Cause, Hands, Step, next_cause
from cabapp.trade.diagnosis_rows import BY_KEY, SYMPTOMS

EVERY = [(symptom.key, cause) for symptom in SYMPTOMS for cause in symptom.causes]


def test_what_people_see_behind_the_tool_is_all_there() -> None:
    assert set(BY_KEY) == {
        "ridge_centre", "valley_centre", "ridge_edge", "waves", "open_furrows", "unbroken_ribs",
        "big_clods", "powder", "smear", "plugging", "front_deep", "rear_deep", "side_deep",
        "drifts_shallow", "slip_high", "slip_low", "trips_one", "trips_all", "load_still",
        "breaking", "labouring", "fast_uneven",
    }  # fmt: skip
    assert len(BY_KEY) == len(SYMPTOMS)


def test_causes_are_tried_in_their_order_until_none_is_left() -> None:
    ridge = BY_KEY["ridge_centre"]
    tried: list[str] = []
    while (cause := next_cause(ridge, tried)) is not None:
        tried.append(cause.why)
    assert tried == [cause.why for cause in ridge.causes]
    assert next_cause(ridge) is ridge.causes[0]


@pytest.mark.parametrize(("key", "cause"), EVERY)
def test_a_cause_has_one_change_that_leads_back_to_a_step(key: str, cause: Cause) -> None:
    assert isinstance(cause.step, Step), key
    assert " or raise" not in cause.change
    assert " or lower" not in cause.change
    assert cause.change[0].islower()
    assert not cause.change.endswith(".")
    amounts = [amount for amount in (cause.by_m, cause.by_mps) if amount is not None]
    assert len(amounts) <= 1
    assert all(amount > 0 for amount in amounts)


def test_every_set_up_step_is_led_back_to() -> None:
    assert {cause.step for _, cause in EVERY} == set(Step)


def test_nobody_is_sent_to_the_tool_without_it_being_made_safe() -> None:
    assert "engine off, key out, brake on" in Hands.GROUND.value
    for key, cause in EVERY:
        touched = cause.step in (Step.FRONT_DISCS, Step.REAR_FINISH, Step.CHECKS)
        assert cause.hands is Hands.GROUND or not touched, (key, cause.change)


def test_what_can_hurt_says_so_first() -> None:
    assert "raised tool" in BY_KEY["plugging"].caution
    assert "through skin" in BY_KEY["drifts_shallow"].caution
    assert "manual" in BY_KEY["trips_one"].caution


def test_a_labouring_tractor_is_never_told_to_go_faster() -> None:
    for key in ("labouring", "slip_high", "trips_all", "breaking"):
        assert all("faster" not in cause.change for cause in BY_KEY[key].causes)


def test_a_spring_that_never_moves_is_first_taken_for_no_data() -> None:
    assert "not known" in BY_KEY["load_still"].causes[0].why


def test_no_symptom_names_a_cause_twice_and_each_says_where_it_is_from() -> None:
    for symptom in SYMPTOMS:
        whys = [cause.why for cause in symptom.causes]
        assert len(set(whys)) == len(whys)
        assert symptom.source.text()
