"""Which one is this: move one part and see which signal went with it; direction first."""

from functools import partial
from typing import TYPE_CHECKING

from cabapp.channels import family_of
from cabapp.fitup.edits import swap_plugs
from cabapp.fitup.moving import Moved, MoveFinder, direction, moved_words, swapped
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.fitup.sensors import sensor_words, wire_of
from cabapp.readings import Sample
from cabapp.rig import Sensor
from cabapp.screens.pages.fitup_asks import plate
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.paper import CHOSEN, GO, PLAIN, WARN, Paper
from cabapp.screens.ruler import Rect

if TYPE_CHECKING:
    from cabapp.screens.pages.fitup import FitupPage

PITCH = 88.0 + 14.0


class FindLeaf(Leaf):
    """A key a sensor: touch the one you are about to move, move it deeper or pull it, read."""

    page = Page.FIND

    def __init__(self, shell: "FitupPage") -> None:
        super().__init__(shell)
        self.asked = ""
        self.moves: dict[str, str | None] = {}
        self.start = 0
        self.finder = MoveFinder({})

    def sensors(self) -> tuple[Sensor, ...]:
        """What can be moved by hand: everything with a wire that stands still."""
        return tuple(s for s in self.work.rig.sensors if wire_of(s) is not None)

    def state(self) -> tuple[Mark, str]:
        count = len(self.sensors())
        known = sum(s.channel in self.work.directions for s in self.sensors())
        if not count:
            return Mark.TO_DO, "No sensor to move"
        mark = Mark.DONE if known == count else Mark.TO_DO
        return mark, f"Direction of {known} of {count}"

    def open(self) -> None:
        self.again_from_rest()

    def again_from_rest(self) -> None:
        """Gather a new base: everything stands still now."""
        floors = {}
        for sensor in self.sensors():
            wire = wire_of(sensor)
            if wire is not None:
                floors[sensor.channel] = wire.still_span / 10
        self.finder = MoveFinder(floors)
        self._by_wire = {(s.port, s.wire_name): s.channel for s in self.sensors()}

    def hear(self, sample: Sample) -> None:
        channel = self._by_wire.get((sample.port, sample.name))
        if channel is not None:
            self.finder.hear(channel, sample.value)
            if self.asked and not self.finder.armed:
                self.finder.arm()

    def turn(self) -> None:
        self.start += self._shown
        self.shell.again()

    @property
    def _shown(self) -> int:
        return 2 * self._rows

    @property
    def _rows(self) -> int:
        return int((self.shell.bottom - 226 - 134) // PITCH)

    def write(self, paper: Paper) -> None:
        self.head(right=self.shell.right - 208)
        self.shell.side_key(0, "still", self._still, "Still now", look=PLAIN)
        sensors, rows = self.sensors(), self._rows
        self.start = self.start if self.start < len(sensors) else 0
        wide = (self.shell.right - 24 - 14) / 2
        for n, sensor in enumerate(sensors[self.start : self.start + self._shown]):
            column, row = divmod(n, rows)
            rect = Rect(24 + column * (wide + 14), 134 + row * PITCH, wide, 88)
            self._key(paper, sensor, rect)
        self._answer(paper)
        y = self.shell.bottom - 218
        self.shell.caution(" ".join(self.words.cautions), 24, y, self.shell.right - 24 - 240)
        place = Rect(self.shell.right - 216, y - 14, 216, 88)
        self.pager(paper, place, self._shown, len(sensors), self.start)

    def _key(self, paper: Paper, sensor: Sensor, rect: Rect) -> None:
        way = self.work.directions.get(sensor.channel)
        line = "direction not known"
        if way is not None:
            line = "deeper or pulled reads " + ("more" if way > 0 else "less")
        look = CHOSEN if sensor.channel == self.asked else PLAIN
        paper.key(
            f"move_{sensor.channel}",
            rect,
            partial(self._ask, sensor.channel),
            sensor_words(sensor),
            line,
            look=look,
        )

    def _answer(self, paper: Paper) -> None:
        y, right = self.shell.bottom - 112, self.shell.right
        names = {s.channel: sensor_words(s) for s in self.sensors()}
        found = self.finder.found() if self.finder.armed else None
        pair = self._swapped_pair()
        if pair is not None:
            text = f"{names[pair[0]]} and {names[pair[1]]}: plugs are swapped"
            plate(
                paper,
                Rect(24, y, right - 24 - 320, 112),
                text,
                "Swap the two plugs, or swap their names here and move each again.",
                True,
            )
            rect = Rect(right - 300, y + 12, 300, 88)
            paper.key("swap", rect, partial(self._swap, *pair), "Swap names", look=WARN)
            return
        if not names:
            words = ("No sensor is fitted", "A receiver alone is enough to work.")
        elif not self.asked:
            words = ("Touch the one you are about to move", "Everything stands still meanwhile.")
        elif found is None:
            words = ("Wait", "Listening to everything at rest.")
        else:
            words = moved_words(found, self.asked, names)
        answered = found is not None and found.channel is not None
        wide = right - 24 - (2 * 214 if answered else 0)
        wrong = answered and found is not None and found.channel != self.asked
        plate(paper, Rect(24, y, wide, 112), *words, wrong)
        if answered and found is not None:
            self._confirm(paper, found, right, y + 12)

    def _confirm(self, paper: Paper, found: Moved, right: float, y: float) -> None:
        asked = self.work.rig.sensor(found.channel or "")
        depth = asked is not None and family_of(asked.channel).name == "depth"
        words = ("Deeper", "Shallower") if depth else ("Pulled", "Let go")
        for n, word in enumerate(words):
            rect = Rect(right - 414 + 214 * n, y, 200, 88)
            paper.key(f"way_{n}", rect, partial(self._confirmed, found, n == 0), word, look=GO)

    # -- what keys do ----------

    def _still(self) -> None:
        self.asked = ""
        self.again_from_rest()
        self.shell.again()

    def _ask(self, channel: str) -> None:
        self.asked = channel
        self.finder.arm()
        self.shell.again()

    def _confirmed(self, found: Moved, went_deeper: bool) -> None:
        """The person moved the part asked for that way; what answered may be another."""
        self.moves[self.asked] = found.channel
        if found.channel == self.asked:
            way = direction(found.change, went_deeper)
            if self.shell.tell_fault(self.work.keep_direction(self.asked, way)):
                return
        self._still()

    def _swapped_pair(self) -> tuple[str, str] | None:
        if not swapped(self.moves):
            return None
        wrong = {a: b for a, b in self.moves.items() if b is not None and a != b}
        return next(((a, b) for a, b in wrong.items() if wrong.get(b) == a), None)

    def _swap(self, one: str, other: str) -> None:
        if self.shell.save(swap_plugs(self.work.rig, one, other)):
            self.moves.clear()
            self._still()
            self.shell.tell_fault(self.work.forget_wires(one, other))
