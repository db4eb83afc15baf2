"""Lengths in the walk's own texts are said in the units of the people who read them."""

import re

import pytest

from cabapp.paths import shipped
from cabapp.units import UnitSystem
from cabapp.walk.steps import in_units, read_walk, step_in

WALK = read_walk(shipped("assets", "walk", "combination.toml").read_text(encoding="utf-8"))
OTHER = {
    UnitSystem.US: re.compile(r"\d\s(m|cm|mm|km|ha)\b"),
    UnitSystem.METRIC: re.compile(r"\d\s(in|ft|ac|mi)\b"),
}


def texts(units):
    for plain in WALK.steps:
        step = step_in(plain, units)
        yield from (step.title, step.line, step.help, step.hint)
        for ask in step.asks:
            yield from (ask.words, ask.look)
            for choice in ask.choices:
                yield from (choice.words, choice.mend)
    yield from (*WALK.cautions.values(), *WALK.short.values())


@pytest.mark.parametrize("units", list(UnitSystem))
def test_no_text_of_the_walk_is_in_the_other_peoples_units(units):
    found = list(texts(units))
    assert [text for text in found if OTHER[units].search(text)] == []
    assert [text for text in found if "[" in text or "|" in text] == []


def test_a_text_says_one_of_its_two_lengths_and_keeps_the_rest():
    text = "Drive [200 ft|60 m], count from [2 in|5 cm] up."
    assert in_units(text, UnitSystem.US) == "Drive 200 ft, count from 2 in up."
    assert in_units(text, UnitSystem.METRIC) == "Drive 60 m, count from 5 cm up."
