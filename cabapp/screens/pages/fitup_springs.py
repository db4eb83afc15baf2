"""Springs the quick way: lifted is 0, a trip that somebody saw is 100 %; the full way by loads."""

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from cabapp.fitup.edits import accept_shares
from cabapp.fitup.evidence import spring_proof
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.fitup.sensors import vouched
from cabapp.fitup.signoff import Standing, standing_of
from cabapp.fitup.springs import Witness
from cabapp.fitup.springs_view import (
    PeakCatcher,
    SpringRow,
    force_unit,
    spring_rows,
    spring_signal,
    spring_wire,
)
from cabapp.fitup.stillness import Stillness
from cabapp.readings import Sample
from cabapp.rig import Sensor
from cabapp.screens.pages.fitup_asks import Notice, plate
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.paper import GO, PLAIN, QUIET, Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import round_frame
from cabapp.screens.theme import Role

if TYPE_CHECKING:
    from cabapp.screens.pages.fitup import FitupPage

PITCH = 62.0
KEY = 88.0


class SpringsLeaf(Leaf):
    """A row a spring; lifted is taken of all that stand still, a trip of the one touched."""

    page = Page.SPRINGS

    def __init__(self, shell: "FitupPage") -> None:
        super().__init__(shell)
        self.witnesses: dict[str, Witness] = {}
        self.chosen = ""
        self.start = 0
        self.safe = False
        self.still: dict[str, Stillness] = {}
        self.peaks: dict[str, PeakCatcher] = {}
        self._of_wire: dict[tuple[str, str], str] = {}

    def rows(self) -> tuple[SpringRow, ...]:
        """The rows as they are now."""
        return spring_rows(self.work.rig_in(self.shell.units), self.witnesses)

    def state(self) -> tuple[Mark, str]:
        fitted = self.work.rig.fitted("spring")
        if not fitted:
            return Mark.DONE, "Not fitted"
        unchecked = sum(s.curve is None and vouched(s) for s in fitted)
        if unchecked:
            return Mark.TO_DO, f"{unchecked} of {len(fitted)} unchecked"
        proven = sum(standing_of(s, self.work.evidence) is Standing.PROVEN for s in fitted)
        mark = Mark.DONE if proven == len(fitted) else Mark.TO_DO
        return mark, f"{proven} of {len(fitted)} trips proven"

    def open(self) -> None:
        self.witnesses = self.work.witnesses()
        self.safe = False
        for sensor in self.work.rig.fitted("spring"):
            self.still[sensor.channel] = Stillness(spring_wire(sensor).still_span)
            self.peaks[sensor.channel] = PeakCatcher()
            for end in ("", "MAX", "MIN"):
                self._of_wire[(sensor.port, sensor.wire_name + end)] = sensor.channel
        if self.work.rig.fitted("spring"):
            self.chosen = self.chosen or self.work.rig.fitted("spring")[0].channel
            self.shell.put(
                Notice(
                    "Before springs are loaded",
                    self.words.cautions,
                    ("Locks in, people clear", self._safe),
                    caution=True,
                )
            )

    def _safe(self) -> None:
        self.safe = True
        self.shell.again()

    def hear(self, sample: Sample) -> None:
        channel = self._of_wire.get((sample.port, sample.name))
        if channel is None:
            return
        self.peaks[channel].hear(sample.value, sample.at)
        if not sample.name.endswith(("MAX", "MIN")):
            self.still[channel].hear(sample.value, sample.at)

    def turn(self) -> None:
        self.start += self._shown
        self.shell.again()

    @property
    def _shown(self) -> int:
        return int((self.shell.bottom - 210 - 172) // PITCH)

    def write(self, paper: Paper) -> None:
        self.head(right=self.shell.right - 208)
        rows = self.rows()
        if not rows:
            plate(
                paper,
                Rect(24, 134, self.shell.right - 24, 100),
                "No spring sensor is fitted",
                "Spring loads are then not shown, and nothing of them is judged.",
            )
            return
        self.shell.side_key(0, "full", self._full, "Full way", "by loads")
        wide = self.shell.right - 24
        x = (78.0, 24 + 0.265 * wide, 24 + 0.40 * wide, 24 + 0.54 * wide)
        for place, word in zip(x, ("Spring", "Now", "Lifted", "Trips seen"), strict=True):
            paper.say(word, place, 160, 22, Role.SOFT, bold=False)
        self.start = self.start if self.start < len(rows) else 0
        for n, row in enumerate(rows[self.start : self.start + self._shown]):
            self._row(paper, row, 172 + PITCH * n, x)
        self._foot(paper, rows)

    def _row(self, paper: Paper, row: SpringRow, y: float, x: tuple[float, ...]) -> None:
        foot, right = y + PITCH / 2 + 12, self.shell.right
        if row.channel == self.chosen:
            paper.fill(Role.WANTED, round_frame(24, y, right - 24, PITCH - 4, 6, 4))
        else:
            self.rule(paper, y + PITCH - 3)
        self.mark(paper, row.mark, 36, foot - 26, 28)
        paper.say(row.words, x[0], foot, 26, limit=x[1] - x[0] - 10)
        paper.say(self._now(row.channel), x[1], foot, 22, Role.SOFT, False, limit=x[2] - x[1] - 8)
        paper.say(row.lifted or "–", x[2], foot, 26, limit=x[3] - x[2] - 10)
        room = right - x[3] - 16
        words = row.trips or paper.fitting((row.verdict, row.verdict.partition(",")[0]), room, 24)
        paper.say(words, x[3], foot, 24, limit=room, bold=bool(row.trips))
        paper.touch(
            f"spring_{row.channel}",
            Rect(24, y, right - 24, PITCH - 4),
            partial(self._choose, row.channel),
        )

    def _now(self, channel: str) -> str:
        look = self.still[channel].look(self.work.now)
        sensor = self._sensor(channel)
        if look.mean is None or sensor is None:
            return "silent"
        return spring_signal(sensor, force_unit(self.shell.units)).text(look.mean)

    def _foot(self, paper: Paper, rows: tuple[SpringRow, ...]) -> None:
        right, y = self.shell.right, self.shell.bottom - KEY
        row = next((row for row in rows if row.channel == self.chosen), rows[0])
        many = len(rows) > self._shown
        wide = right - 24 - (216 if many else 0)
        plate(paper, Rect(24, y - 112, wide, 98), f"{row.words}: {row.verdict}", row.next)
        self.pager(paper, Rect(right - 200, y - 107, 200, KEY), self._shown, len(rows), self.start)
        quarter = (right - 24 - 3 * 14) / 4
        ready = sum(r.ready is not None for r in rows)
        number = row.channel.removeprefix("spring")
        keys = (
            ("lifted", self._lifted, ("Lifted now", "all that are still"), self.safe, GO),
            ("trip", self._trip, ("Trip seen", f"of spring {number}"), self.safe, GO),
            ("undo", self._undo, ("Undo", f"last of spring {number}"), True, PLAIN),
            ("accept", self._accept, (f"Accept {ready}",), ready > 0, GO),
        )
        for n, (name, fire, words, may, look) in enumerate(keys):
            rect = Rect(24 + n * (quarter + 14), y, quarter, KEY)
            paper.key(name, rect, fire, *words, look=look if may else QUIET, high=26)

    # -- what keys do ----------

    def _choose(self, channel: str) -> None:
        self.chosen = channel
        self.shell.again()

    def _keep(self, witnesses: dict[str, Witness]) -> None:
        if not self.shell.tell_fault(self.work.keep_witnesses(witnesses), "Not kept"):
            self.witnesses = witnesses
        self.shell.again()

    def _lifted(self) -> None:
        if not self.safe:
            self.open()
            return
        found = dict(self.witnesses)
        unsteady = []
        for sensor in self.work.rig.fitted("spring"):
            look = self.still[sensor.channel].look(self.work.now)
            if look.may_take and None not in (look.mean, look.least, look.most):
                before = found.get(sensor.channel, Witness())
                found[sensor.channel] = before.with_lifted(look.mean, look.least, look.most)  # type: ignore[arg-type]
            else:
                unsteady.append(f"{sensor.channel.capitalize()}: {look.standing.value}, not taken.")
        self._keep(found)
        self.shell.tell_fault("\n".join(unsteady), "Not all stood still")

    def _trip(self) -> None:
        witness = self.witnesses.get(self.chosen, Witness())
        if not self.safe:
            self.open()
            return
        if not witness.lifted:
            self.shell.tell_fault("Take it lifted first: a trip is told by how far it is from 0.")
            return
        peak = self.peaks[self.chosen].furthest(witness.lifted[-1].signal, self.work.now)
        sensor = self._sensor(self.chosen)
        if peak is None or sensor is None:
            self.shell.tell_fault("Nothing was heard of it just now: check its cable.")
            return
        span = 10 * spring_wire(sensor).still_span
        if abs(peak - witness.lifted[-1].signal) < span:
            self.shell.tell_fault("No new trip of it in the last 10 s: was it another shank?")
            return
        self.peaks[self.chosen].taken(witness.lifted[-1].signal, peak)
        self._keep({**self.witnesses, self.chosen: witness.with_trip(peak)})

    def _undo(self) -> None:
        witness = self.witnesses.get(self.chosen)
        if witness is None:
            return
        if witness.trips:
            witness = replace(witness, trips=witness.trips[:-1])
        else:
            witness = replace(witness, lifted=witness.lifted[:-1])
        self._keep({**self.witnesses, self.chosen: witness})

    def _sensor(self, channel: str) -> Sensor | None:
        return self.work.rig.sensor(channel)

    def _accept(self) -> None:
        """The curves of all that hold; what is witnessed of the rest goes on the sheet too."""
        rig, evidence = self.work.rig, self.work.evidence
        for row in self.rows():
            witness = self.witnesses.get(row.channel)
            if row.ready is not None:
                made = replace(row.ready, made=self.work.day, by=evidence.fitted_by)
                rig = accept_shares(rig, row.channel, made)
            kept = rig.sensor(row.channel)
            if kept is None or witness is None:
                continue
            if row.proof.curve is not None or kept.curve is None:  # else it reads by loads
                evidence = evidence.with_proof(spring_proof(kept, witness, row.proof))
        if rig is not self.work.rig and not self.shell.save(rig):
            return
        self.shell.tell_fault(self.work.prove(evidence))
        self.shell.again()

    def _full(self) -> None:
        self.shell.go(Page.CALIBRATE)
