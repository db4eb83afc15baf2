"""The installer's pages on a real engine: bytes in, messages through the wire, touches back."""

from dataclasses import replace

import pytest

from cabapp.cab import Cab
from cabapp.engine.grid import Clock
from cabapp.engine.home import Home
from cabapp.engine.loop import Engine, Loop
from cabapp.engine.wire import Loudness, Received, TapMade, decode, encode
from cabapp.events import Bytes, PortCondition, PortState, TapKind
from cabapp.fitup.pages import Page
from cabapp.outcome import Pattern, Snapshot, Sound
from cabapp.plan import default_plan
from cabapp.record.rigfile import RigFile
from cabapp.rig import Rig
from cabapp.screens.fronts import Way
from cabapp.screens.pages.fitup import FitupPage
from cabapp.screens.pages.fitup_invented import RIG
from cabapp.screens.pictures import layout_of
from tests.engine.test_loop import Kept
from tests.sentences import sentence

METRES_A_DEGREE = 111_320.0


@pytest.fixture(autouse=True)
def window(cabin):
    """Widgets need the window of the run."""


class Hand(Clock):
    """A clock that a test moves."""

    at = 1000.0

    def now(self) -> float:
        return Hand.at

    def real_now(self) -> float:
        return Hand.at

    def real_s(self, span_s: float) -> float:
        return 0.0


class Shed:
    """A tablet in a shed: page, engine and cab as they are, wires and clock by hand."""

    def __init__(self, folder, rig: Rig) -> None:
        Hand.at = 1000.0
        self.home = Home(folder)
        RigFile(self.home.rig).write(rig)
        self.speaker: list[object] = []
        self.snapshot: Snapshot | None = None
        self.sky, self.speed_mps, self.north_m = False, 0.0, 0.0
        self.volts = {"DEPTH1": 1.5, "DEPTH2": 1.6}
        self.in_front = False
        self.loop = Loop(
            Hand(), self._to_screen, self.speaker.append, lambda m: None, lambda: False
        )
        cab = Cab(rig, default_plan(rig))
        self.engine = Engine(cab, Kept(), self._to_screen, self.speaker.append)
        way = Way(self._tap, lambda name: None, tell=self._to_engine)
        self.page = FitupPage(layout_of("10in-1280x800"), way, lambda: None, self.home, Hand().now)
        for port in rig.ports:
            self.loop.post(PortState(Hand.at, port.name, PortCondition.OK, f"/dev/{port.name}"))
        self.run(4.0)
        self._tap(TapKind.PARKED, True)
        self.run(1.0)

    def enter(self) -> None:
        self.in_front = True
        self.page.enter(self.snapshot)

    def leave(self) -> None:
        self.in_front = False
        self.page.leave()

    def _tap(self, kind: TapKind, value: object = None) -> None:
        self._to_engine(TapMade(kind, value))

    def _to_engine(self, message) -> None:
        self.loop.from_screen(decode(encode(message, Hand.at)))

    def _to_screen(self, message) -> None:
        received = decode(encode(message, Hand.at))
        assert isinstance(received, Received)
        if isinstance(received.message, Snapshot):
            self.snapshot = received.message
        elif self.in_front:
            self.page.heard(received.message)

    def run(self, seconds: float) -> None:
        """Wires speak and the engine turns; the page is shown the newest picture at the end."""
        for _ in range(round(seconds * 10)):
            Hand.at = round(Hand.at + 0.1, 3)
            self._speak(round(Hand.at * 10))
            for _ in range(4):
                self.loop._round(self.engine)
        if self.in_front:
            self.page.show(self.snapshot)

    def _speak(self, tenth: int) -> None:
        at, seconds = Hand.at, 43_200 + Hand.at
        clock = f"{int(seconds // 3600):02d}{int(seconds // 60) % 60:02d}{seconds % 60:05.2f}"
        if tenth % 2 == 0:
            self.north_m += 0.2 * self.speed_mps
            lat = f"42{60 * (0.1 + self.north_m / METRES_A_DEGREE):010.7f},N,09330.0000000,W"
            kn = self.speed_mps / 0.514444
            fixed = f"GPRMC,{clock},A,{lat},{kn:.2f},0.0,150631,,,A"
            gga = f"GPGGA,{clock},{lat},2,11,0.9,300.0,M,-30.0,M,,"
            body = fixed if self.sky else f"GPRMC,{clock},V,,,,,,,150631,,,N"
            self.loop.post(Bytes(at, "gnss", sentence(body) + sentence(gga) * self.sky))
        volts = ",".join(f"U,{value:.4f},V,{name}" for name, value in self.volts.items())
        lines = [volts + f",G,{tenth % 10000},,SEQ"]
        lines += [
            f"N,900,N,SPRING{n},N,920,N,SPRING{n}MAX,N,880,N,SPRING{n}MIN" for n in range(1, 8)
        ]
        lines += ["G,1,,TOOLDOWN"] * (tenth % 5 == 0)
        self.loop.post(Bytes(at, "node", b"".join(sentence(f"YXXDR,{line}") for line in lines)))

    def tap(self, name: str) -> None:
        next(target for target in self.page.targets() if target.name == name).fire()

    def type(self, text: str) -> None:
        for key in text:
            self.tap(f"key_{key}")
        self.tap("enter")

    def reads(self, part: str) -> bool:
        return part in " ".join(say.text for say in self.page.paper.over.says if say.text)


@pytest.fixture
def shed(tmp_path):
    made = Shed(tmp_path, RIG)
    made.enter()
    made.run(3.0)
    return made


def test_plugs_and_raw_values_are_what_the_wires_send(shed):
    shed.page.go(Page.PLUGS)
    assert shed.reads("Position, speed, course") and shed.reads("5 a second")
    assert shed.reads("10 a second") and not shed.reads("seq")
    shed.page.go(Page.SENSORS)
    shed.run(1.0)
    assert shed.reads("1.500 V") and shed.reads("1.600 V") and shed.reads("900 N")


@pytest.mark.parametrize("rig", [RIG, replace(Rig(), ports=RIG.ports)], ids=["full", "receiver"])
def test_every_alert_is_fired_shown_by_the_engine_and_answered_and_the_sheet_says_so(tmp_path, rig):
    shed = Shed(tmp_path, rig)
    shed.enter()
    shed.page.go(Page.ALERTS)
    shed.tap("next")
    for _ in range(len(shed.page.leaves[Page.ALERTS].test.rows)):
        shed.run(0.3)
        assert shed.reads("Shown by the engine now")
        shed.tap("well")
    evidence = shed.page.work.evidence
    assert evidence.bench_done == evidence.bench_all > 40
    lines = {line.what: line for line in shed.page.leaves[Page.SIGN].sheet().lines}
    assert lines["Alerts"].standing.value == "proven"


def test_an_alert_that_was_shown_can_be_answered_after_it_has_gone(shed):
    shed.page.go(Page.ALERTS)
    shed.tap("next")
    assert shed.reads("The engine has not shown it yet")
    shed.run(1.0)
    shed.run(7.0)
    assert shed.reads("Was it seen?")
    shed.tap("well")
    assert shed.page.work.evidence.bench_done == 1


def test_the_sounds_are_played_by_the_speaker_as_loud_as_was_chosen(shed):
    shed.page.go(Page.SOUNDS)
    shed.speaker.clear()
    for key in ("play_act", "play_look", "play_stepped"):
        shed.tap(key)
        shed.run(0.3)
    shed.tap("first_minus")
    sounds = [(s.pattern, s.louder) for s in shed.speaker if isinstance(s, Sound)]
    assert sounds == [(Pattern.ACT, False), (Pattern.LOOK, False), (Pattern.ACT, True)]
    assert shed.speaker[-1] == Loudness(0.5, 1.0)


def test_a_course_is_counted_by_the_engine_while_the_page_is_away(shed):
    shed.page.go(Page.RECEIVER)
    shed.run(2.0)
    assert shed.reads("wait for open sky")
    shed.sky = True
    shed.run(27.0)
    shed.tap("keep")
    assert shed.reads("corrected by satellite, 11 satellites") and shed.reads("kept")
    shed.tap("length")
    shed.tap("choice_0")
    shed.type("328")
    shed.tap("start")
    shed.leave()
    shed.speed_mps = 2.5
    shed.run(40.0)
    shed.speed_mps = 0.0
    shed.run(6.0)
    assert not shed.snapshot.moving
    shed.enter()
    shed.run(1.0)
    shed.tap("end")
    course = shed.page.work.evidence.course
    assert course.holds and course.measured_m == pytest.approx(100.0, abs=2.5)
