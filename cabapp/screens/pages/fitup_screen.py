"""The screen: a ruler held against it, the distance of the eye, and what may be read from there."""

from dataclasses import replace
from functools import partial
from typing import Any

from cabapp.fitup.evidence import ScreenProof
from cabapp.fitup.findings import Measure
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.rig import Display
from cabapp.rigbounds import BOUNDS
from cabapp.screens.pages.fitup_asks import AskFigure, plate
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.paper import GO, QUIET, Paper
from cabapp.screens.ruler import Layout, Panel, Rect, Refused, arrange
from cabapp.screens.shapes import box
from cabapp.screens.theme import Role
from cabapp.units import UnitSystem, to_unit

BAR_MM = 100.0
LENGTHS = {
    "width_mm": "Width of the lit area",
    "height_mm": "Height of the lit area",
    "eye_mm": "Eye to screen",
}


class ScreenLeaf(Leaf):
    """Three lengths, a bar that must be 100 mm by the ruler, and the verdict."""

    page = Page.SCREEN

    def state(self) -> tuple[Mark, str]:
        proof = self.work.evidence.screen
        if proof is None:
            return Mark.TO_DO, "Not measured"
        unit = "in" if self.shell.units is UnitSystem.US else "cm"
        text = f"{to_unit(proof.eye_mm / 1000, unit):.0f} {unit}"
        return (Mark.DONE if proof.holds else Mark.TROUBLE), f"Read at {text}"

    @property
    def display(self) -> Display:
        """What was typed so far."""
        return self.work.rig.display

    def panel(self) -> Panel:
        """This panel as it was measured."""
        now, d = self.shell.layout.panel, self.display
        return Panel(now.wide_px, now.high_px, d.width_mm, d.height_mm, d.eye_mm)

    def verdict(self, signed: bool = False) -> Layout | Refused:
        """Whether it can be read from there."""
        return arrange(self.panel(), signed)

    def write(self, paper: Paper) -> None:
        self.head()
        wide = (self.shell.right - 24 - 28) / 3
        for n, (name, words) in enumerate(LENGTHS.items()):
            value = getattr(self.display, name) / 1000
            text = Measure("mm").text(value)
            rect = Rect(24 + n * (wide + 14), 134, wide, 108)
            paper.key(name, rect, partial(self._ask, name), text, words, high=32)
        self._bar(paper)
        found = self.verdict()
        y = self.shell.bottom - 128
        key = Rect(self.shell.right - 320, y + 20, 320, 88)
        place = Rect(24, y, self.shell.right - 24 - 340, 128)
        if isinstance(found, Layout):
            size = "large" if not found.small else "small"
            plate(
                paper,
                place,
                f"The {size} page fits it, read from there",
                "Sit as you drive: can you read it? Then say so.",
            )
            paper.key("accept", key, lambda: self._accept(False), "I can read it", look=GO)
            return
        plate(
            paper,
            place,
            found.reason.partition(":")[0],
            found.reason.partition(": ")[2].capitalize(),
            True,
        )
        signed = isinstance(self.verdict(True), Layout)
        paper.key(
            "beyond",
            key,
            lambda: self._accept(True),
            "Sign for it",
            "it stays unproven",
            look=GO if signed else QUIET,
        )

    def _bar(self, paper: Paper) -> None:
        """A bar of 100 mm by what was typed: the ruler says whether that is so."""
        panel = self.panel()
        long = BAR_MM * panel.wide_px / panel.wide_mm / self.shell.layout.scale
        room = self.shell.right - 24
        share = next((s for s in (1.0, 0.5, 0.25) if long * s <= room), 0.25)
        long, mm = long * share, BAR_MM * share
        x, y = 24.0 + (room - long) / 2, 300.0
        high = max(30.0, min(80.0, self.shell.bottom - 128 - 130 - y))
        paper.fill(Role.INK, box(x, y, long, 5), box(x, y, 4, high), box(x + long - 4, y, 4, high))
        paper.fill(
            Role.INK, *(box(x + long * n / 10 - 1.5, y, 3, high * 0.6) for n in range(1, 10))
        )
        paper.say(
            f"{mm:.0f} mm from edge to edge, if the width is right",
            24 + room / 2,
            y + high + 50,
            26,
            Role.SOFT,
            False,
            align="middle",
            limit=room,
        )
        paper.say("Hold a ruler against it.", 24 + room / 2, y + high + 94, 26, align="middle")

    def _ask(self, name: str) -> None:
        words = LENGTHS[name]
        least, most = BOUNDS[f"display.{name}"]

        def enter(value: float) -> str:
            mm = value * 1000
            if not least <= mm <= most:
                return f"Found {mm:.0f} mm, expected {least:.0f} to {most:.0f} mm: mind the unit."
            typed: dict[str, Any] = {name: mm}
            display = replace(self.display, confirmed=False, signed_beyond=False, **typed)
            return self.work.save(replace(self.work.rig, display=display))

        units = ("mm", "in")
        line = "Only what lights up, edge to edge." if name != "eye_mm" else "As you sit to drive."
        self.shell.put(AskFigure(words, line, enter, units))

    def _accept(self, beyond: bool) -> None:
        if isinstance(self.verdict(beyond), Refused):
            return
        display = replace(self.display, confirmed=True, signed_beyond=beyond)
        if not self.shell.save(replace(self.work.rig, display=display)):
            return
        proof = ScreenProof(True, self.display.eye_mm, True, beyond)
        self.shell.tell_fault(self.work.prove(replace(self.work.evidence, screen=proof)))
        self.shell.again()
