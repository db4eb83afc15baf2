"""Channels, curves, plan, codec and words: the shared vocabulary."""

import json
import math
import re
from dataclasses import replace

import pytest

from cabapp.channels import FAMILIES, column_of, family_of, split_channel
from cabapp.codec import from_plain, to_plain
from cabapp.curve import Curve, CurveKind
from cabapp.events import EVENT_TYPES, Bytes, Peg, PegsKnown, PlanChanged, Resumed, Tap, TapKind
from cabapp.hear.lines import Lines
from cabapp.hear.transducers import Transducers
from cabapp.outcome import What
from cabapp.paths import shipped
from cabapp.plan import Plan, default_plan, faults_of
from cabapp.readings import Quality, Reading
from cabapp.rig import Rig
from cabapp.rigcheck import read_rig
from cabapp.units import INCH_M, UnitSystem
from cabapp.words import CAUSES, SAYINGS, Level, Rule, advice_text, distance_text, next_step, say


def test_a_reading_has_a_value_exactly_when_it_is_good() -> None:
    with pytest.raises(ValueError, match="depth1"):
        Reading("depth1", 0.3, 1.0, Quality.SILENT)
    with pytest.raises(ValueError, match="depth1"):
        Reading("depth1", None, 1.0, Quality.GOOD)


def test_numbered_channels_need_a_number_and_others_refuse_one() -> None:
    assert split_channel("depth2") == ("depth", 2)
    assert split_channel("speed") == ("speed", None)
    for wrong in ("depth", "speed1", "sped", "", "7"):
        with pytest.raises(KeyError):
            split_channel(wrong)


def test_columns_carry_their_unit() -> None:
    assert column_of("depth2") == "depth2_m"
    assert column_of("spring7") == "spring7_ratio"
    assert column_of("speed") == "speed_mps"
    assert column_of("tool_down") == "tool_down_state"
    assert len({family.column() for family in FAMILIES.values()}) == len(FAMILIES)
    assert family_of("spring3").most > 1


def test_curves_of_the_three_kinds_agree_where_they_describe_the_same_line() -> None:
    line = Curve(CurveKind.LINEAR, 0.5, 4.5, (-0.1, 0.2))
    bent = Curve(CurveKind.QUADRATIC, 0.5, 4.5, (-0.1, 0.2, 0.0))
    pieces = Curve(CurveKind.MONOTONE, 0.5, 4.5, knots=((0.5, 0.0), (2.0, 0.3), (4.5, 0.8)))
    for x in (0.5, 1.7, 2.0, 3.3, 4.5, 5.0):
        assert bent.value(x) == pytest.approx(line.value(x))
        assert pieces.value(x) == pytest.approx(line.value(x))


def test_a_field_offset_is_added_last_and_proof_ends_a_tenth_beyond_the_last_point() -> None:
    curve = Curve(CurveKind.LINEAR, 1.0, 2.0, (0.0, 1.0), offset=0.25)
    assert curve.value(1.5) == 1.75
    assert curve.within_proof(2.1) and curve.within_proof(0.9)
    assert not curve.within_proof(2.11) and not curve.within_proof(0.89)


def test_events_travel_through_json_unharmed() -> None:
    plan = default_plan(Rig())
    events = [
        Bytes(1.5, "gnss", bytes(range(256))),
        Tap(2.0, TapKind.PEG_KIND, "pipe"),
        Tap(2.0, TapKind.DUG, 0.33),
        PlanChanged(3.0, plan),
        PegsKnown(3.0, (Peg(1, "wet", 45.0, -97.0),)),
        Resumed(4.0, {"cells": "", "ends": [[1, 2.0]]}, ({"what": What.PEG.value},), 3.0, "a", 9.0),
    ]
    for event in events:
        plain = json.loads(json.dumps(to_plain(event)))
        assert from_plain(EVENT_TYPES[next(k for k, t in EVENT_TYPES.items() if t is type(event))],
                          plain) == event  # fmt: skip


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_never_reaches_a_record(value: float) -> None:
    with pytest.raises(ValueError, match="unknown is None"):
        to_plain(Tap(0.0, TapKind.DUG, value))


def test_a_plan_with_turned_bands_says_what_to_mend() -> None:
    plan = Plan(speed_low_mps=3.0, speed_high_mps=2.0, depth_target_m=0.30, depth_low_m=0.29,
                depth_high_m=0.31, layer_top_m=0.4, layer_bottom_m=0.3)  # fmt: skip
    words = " ".join(faults_of(plan))
    assert "turned round" in words and "under 1 in" in words and "swap" in words
    assert faults_of(default_plan(Rig())) == ()


def test_every_rule_has_words_and_every_saying_its_level() -> None:
    assert {rule for rule, _ in SAYINGS} == set(Rule)
    for (rule, _), saying in SAYINGS.items():
        assert saying.action and saying.chip, rule
        assert bool(saying.headline) == (saying.level is not Level.NOTE), rule


def test_an_alert_says_which_way_in_the_persons_unit() -> None:
    assert advice_text(1.5 * INCH_M, UnitSystem.US) == "Deeper 1 1/2 in"
    assert advice_text(-0.02, UnitSystem.METRIC) == "Shallower 2 cm"
    said = say(Rule.SHANK_UP, shank=5)
    assert (said.headline, said.action, said.short) == (
        "STOP", "Look back: shank 5 stayed up", "Shank 5 stayed up",
    )  # fmt: skip
    assert distance_text(60.0, UnitSystem.US) == "200 ft"


def test_every_cause_gives_a_next_step_with_or_without_a_cable_number() -> None:
    assert next_step("cable", 2, "left") == "Check cable 2, left"
    assert next_step("cable") == "Check the cable"
    assert next_step("arm") == "Check the arm"
    for cause in CAUSES:
        assert "{" not in next_step(cause) and next_step(cause)


def readme_of_the_wires() -> str:
    text = shipped("README.md").read_text(encoding="utf-8")
    return text.split("## What has to come in on the wires")[1].split("\n## ")[0]


def test_what_readme_says_of_the_wires_is_what_is_heard() -> None:
    """An installer builds a node by that page alone."""
    rig = read_rig(shipped("config", "rig-us-full.toml").read_text(encoding="utf-8"))
    sensors = tuple(
        replace(s, input="si", curve=None, trusted=True) if s.channel == "depth2" else s
        for s in rig.sensors
    )
    heard = Transducers(sensors)
    sentences = "".join(re.findall(r"\$.*\*..", readme_of_the_wires())).replace("$", "\n$")
    for line in Lines().feed(sentences.encode() + b"\r\n", 1.0):
        heard.hear("node", line)
    good = {one.channel: one for one in heard.readings(1.0).values() if one.value is not None}
    assert set(good) == {"depth1", "depth2", "spring1", "tool_down", "wheel_speed"}
    assert good["depth2"].value == 0.352
    assert (good["tool_down"].value, good["wheel_speed"].value) == (1.0, 1.74)
    trip_n = rig.sensor("spring1").trip_n  # type: ignore[union-attr]
    assert good["spring1"].most == pytest.approx(15100 / trip_n)  # type: ignore[operator]


def test_readme_names_every_channel_of_a_node_with_its_type_and_unit() -> None:
    page = readme_of_the_wires()
    for family in FAMILIES.values():
        if family.xdr_name:
            row = next(row for row in page.splitlines() if row.startswith("|") and
                       f"`{family.xdr_name}" in row)  # fmt: skip
            assert f"`{family.xdr_kind}`" in row.split("|")[2]
            assert not family.xdr_unit or f"`{family.xdr_unit}`" in row.split("|")[2]
