"""The tool switch: it repeats its state, and goes the way the tool goes."""

from dataclasses import replace

from cabapp.fitup.evidence import SwitchProof
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.fitup.switch import WANTED_FLIPS, SwitchStanding, SwitchView, SwitchWatch
from cabapp.readings import Sample
from cabapp.rig import Sensor
from cabapp.screens.pages.fitup_asks import plate
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.paper import GO, PLAIN, QUIET, Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import round_frame
from cabapp.screens.theme import Role

BAD = (SwitchStanding.SILENT, SwitchStanding.ON_CHANGE_ONLY, SwitchStanding.STUCK)


class SwitchLeaf(Leaf):
    """Its state now in large letters, what may be said of it, and the person's own word."""

    page = Page.SWITCH
    watch: SwitchWatch | None = None

    @property
    def sensor(self) -> Sensor | None:
        """The rig's tool switch."""
        return self.work.rig.sensor("tool_down")

    def state(self) -> tuple[Mark, str]:
        if self.sensor is None:
            return Mark.DONE, "Not fitted"
        proof = self.work.evidence.switch
        if proof is not None and proof.holds:
            return Mark.DONE, f"{proof.seen} of {proof.made} changes"
        return Mark.TO_DO, "Not proven"

    def open(self) -> None:
        self.watch = SwitchWatch(self.work.now)

    def close(self) -> None:
        self.watch = None

    def hear(self, sample: Sample) -> None:
        sensor = self.sensor
        if sensor and self.watch and (sample.port, sample.name) == (sensor.port, sensor.wire_name):
            self.watch.hear(sample.value, sample.at)

    def view(self) -> SwitchView | None:
        """What may be said now."""
        return None if self.watch is None else self.watch.look(self.work.now)

    def write(self, paper: Paper) -> None:
        self.head()
        view = self.view()
        wide = self.shell.right - 24
        if self.sensor is None or view is None:
            plate(
                paper,
                Rect(24, 134, wide, 100),
                "No tool switch is fitted",
                "Tool up or down is then told by depth, load, speed and turns.",
            )
            return
        self._state(paper, view, wide)
        y = self.shell.bottom - 88
        refused = view.standing in BAD
        plate(paper, Rect(24, y - 130, wide, 112), view.what, view.mend, refused)
        self.shell.caution(self.words.cautions[0], 24, y - 196, wide)
        proven = view.standing is SwitchStanding.PROVEN
        third = (wide - 28) / 3
        keys = (
            ("again", self._anew, ("Begin anew",), PLAIN),
            ("wrong", self._wrong, ("Wrong way", "down says up"), PLAIN),
            ("same", self._same, ("Same way", "as the tool, each time"), GO if proven else QUIET),
        )
        for n, (name, fire, words, look) in enumerate(keys):
            paper.key(name, Rect(24 + n * (third + 14), y, third, 88), fire, *words, look=look)

    def _state(self, paper: Paper, view: SwitchView, wide: float) -> None:
        high = self.shell.bottom - 88 - 210 - 134
        paper.fill(Role.SOFT, round_frame(24, 134, wide, high, 14, 3))
        middle = 134 + high / 2
        word = {True: "DOWN", False: "UP", None: "NOT KNOWN"}[view.down]
        sign = {True: "lowered", False: "lifted", None: "no_reading"}[view.down]
        size = min(150.0, high - 50)
        paper.sign(sign, 70, middle - size / 2, size)
        paper.say(word, 110 + size, middle + 31, 62)
        seen = min(view.flips, WANTED_FLIPS)
        pitch = 58.0
        left = self.shell.right - 40 - WANTED_FLIPS * pitch
        for n in range(WANTED_FLIPS):
            paper.sign("done" if n < seen else "to_do", left + n * pitch, middle - 40, 44)
        paper.say("changes seen", left, middle + 44, 24, Role.SOFT, False)

    def _anew(self) -> None:
        self.open()
        self.shell.again()

    def _wrong(self) -> None:
        """What a person saw goes before what was proven earlier."""
        if self.shell.tell_fault(self.work.prove(replace(self.work.evidence, switch=None))):
            return
        self.open()
        self.shell.tell_fault(
            "Down must be sent as 1 and up as 0: turn the magnet or the node's setting round.\n"
            "Until then the switch is not proven.",
            "The other way round",
        )

    def _same(self) -> None:
        view = self.view()
        if view is None or view.standing is not SwitchStanding.PROVEN:
            if view is not None:
                self.shell.tell_fault(f"{view.what}\n{view.mend}", "Not proven yet")
            return
        proof = SwitchProof(view.flips, view.flips)
        self.shell.tell_fault(self.work.prove(replace(self.work.evidence, switch=proof)))
        self.shell.to_list()
