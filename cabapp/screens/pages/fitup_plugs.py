"""What is plugged in: each plug, what it sends now, how often, whose it is, and what to do."""

from dataclasses import replace
from functools import partial

from cabapp.engine.wire import Spares, SparesWanted
from cabapp.fitup.edits import take_port
from cabapp.fitup.heard import how_often
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import (
    Mark,
    PlugRow,
    PlugState,
    Spare,
    plug_rows,
    shorter,
    spare_rows,
    trouble_of,
)
from cabapp.rig import Port
from cabapp.screens.pages.fitup_asks import AskChoice, Notice, plate
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.paper import CHOSEN, Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.theme import Role

PITCH = 70.0
COLUMNS = ("Plug", "Sends now", "How often", "Heard", "Belongs to")
KEY_WIDE = 216.0
STAYING = "/dev/serial/"  # names that lead to the same device however it is plugged in
LISTEN = (
    "The engine opens the plugs anew with the rig as it is written now.",
    "Drive comes to the front while it starts. In a shed, hold “Parked, brake on” to come back.",
)


class PlugsLeaf(Leaf):
    """Rows of ports; a row opens what may be done with it."""

    page = Page.PLUGS

    def plugs(self) -> tuple[PlugState, ...]:
        """Every port of the rig, those the engine has not opened yet at the end."""
        told = {line.name: line for line in self.work.ports}
        known = [port.name for port in self.work.rig.ports]
        names = [*known, *(name for name in told if name not in known)]
        return tuple(
            PlugState(name, line.condition, line.detail, line.kinds, line.rate_hz, line.silent_s)
            if (line := told.get(name))
            else PlugState(name)
            for name in names
        )

    def rows(self) -> tuple[PlugRow, ...]:
        """The rows as they are now."""
        return plug_rows(self.plugs(), self.work.ears, self.work.rig, self.work.now)

    def open(self) -> None:
        self.work.tell(SparesWanted())

    def spare(self) -> tuple[PlugRow, ...]:
        """What else is plugged in, by the engine's last look."""
        spares = tuple(
            Spare(one.device, one.condition, one.role, one.kinds, one.rate_hz, one.detail)
            for one in self.work.spares.devices
        )
        return spare_rows(spares, len(self.plugs()) + 1)

    def state(self) -> tuple[Mark, str]:
        rows = self.rows()
        trouble = trouble_of(rows)
        if trouble is not None:
            return Mark.TROUBLE, f"Plug {trouble.number}: {trouble.sends.lower()}"
        known = sum(row.mark is Mark.DONE for row in rows)
        return Mark.DONE if known == len(rows) else Mark.TO_DO, f"{known} of {len(rows)} known"

    def write(self, paper: Paper) -> None:
        self.head(right=self.shell.right - 208)
        look = CHOSEN if self.work.unsent else None
        keys = {"look": look} if look else {}
        self.shell.side_key(0, "listen", self._listen, "Listen", **keys)
        x = self._columns()
        for place, word in zip(x, COLUMNS, strict=False):
            if word in ("Plug", "Heard") and paper.layout.small:
                continue
            paper.say(word, place, 164, 22, Role.SOFT, bold=False)
        rows = (*self.rows(), *self.spare())
        bar = self.shell.bottom - 92
        pitch = max(48.0, min(PITCH, (bar - 196) / max(1, len(rows))))
        for n, row in enumerate(rows[: int((bar - 190) // pitch)]):
            self._row(paper, row, 178 + pitch * n, pitch, x)
        self._bar(paper, rows, bar)

    def _columns(self) -> tuple[float, ...]:
        """Plug, sends, how often, heard, belongs to, mark; a small page leaves "heard" out."""
        wide = self.shell.right - 24
        if self.shell.layout.small:
            return (24.0, 86.0, 456.0, 642.0, 642.0, 880.0)
        return (
            24.0,
            98.0,
            24 + 0.385 * wide,
            24 + 0.529 * wide,
            24 + 0.632 * wide,
            24 + 0.82 * wide,
        )

    def _row(
        self, paper: Paper, row: PlugRow, y: float, pitch: float, x: tuple[float, ...]
    ) -> None:
        foot, right = y + pitch / 2 + 14, self.shell.right
        heard = row.mark is not Mark.TROUBLE
        paper.say(str(row.number), x[0] + 6, foot, 28, digits=True)
        room = x[2] - x[1] - 12
        sends = paper.fitting(shorter(row.sends), room, 24)
        paper.say(sends, x[1], foot, 24, Role.INK if heard else Role.SOFT, limit=room)
        paper.say(row.how_often, x[2], foot, 23, Role.SOFT, False, limit=x[3] - x[2] - 8)
        if not paper.layout.small:
            ink = Role.SOFT if heard else Role.INK
            paper.say(row.heard, x[3], foot, 23, ink, not heard, limit=x[4] - x[3] - 8)
        mark_x = x[5]
        paper.say(row.belongs, x[4], foot, 27, limit=mark_x - x[4] - 12)
        self.mark(paper, row.mark, mark_x, foot - 27)
        paper.say(row.verdict, right, foot, 23, align="right", limit=right - mark_x - 40)
        known = any(plug.name == row.name for plug in self.plugs())
        self.rule(paper, y + pitch - 2)
        paper.touch(
            f"plug_{row.name}",
            Rect(24, y, right - 24, pitch - 2),
            partial(self._open if known else self._open_spare, row),
        )

    def _bar(self, paper: Paper, rows: tuple[PlugRow, ...], y: float) -> None:
        wide = self.shell.right - 24 - KEY_WIDE - 20
        trouble = trouble_of(rows)
        place = Rect(24, y, wide, 92)
        if trouble is not None:
            said = "nothing" if trouble.sends == "Nothing" else trouble.sends.lower()
            plate(paper, place, f"Plug {trouble.number}: {said}", trouble.mend)
        elif self.work.unsent:
            plate(paper, place, "Touch Listen", "Then the plugs are opened with what you chose.")
        elif self.work.spares.looking:
            plate(
                paper, place, "Looking for more", "Every other device is listened to: up to 25 s."
            )
        else:
            plate(paper, place, "Touch a plug", "Take it as the receiver or as a sensor node.")
        rect = Rect(self.shell.right - KEY_WIDE, y + 2, KEY_WIDE, 88)
        paper.key("add_node", rect, self._add, "Add node")

    # -- what keys do ----------

    def _add(self) -> None:
        rig = self.work.rig
        self.shell.save(replace(rig, ports=(*rig.ports, Port(self._free_name(), role="node"))))
        self.shell.again()

    def _free_name(self) -> str:
        taken = {port.name for port in self.work.rig.ports}
        names = ["node", *(f"node{n}" for n in range(2, 20))]
        return next(name for name in names if name not in taken)

    def _open_spare(self, row: PlugRow) -> None:
        """A device that nobody reads: whose it is to be."""
        choices = (
            ("Take as receiver", "position, speed, course"),
            ("Take as node", "depth, springs, switches"),
            ("Look again", "at everything that nobody reads"),
        )
        line = ". ".join(part for part in (row.name, row.sends, row.how_often) if part)
        pick = partial(self._take_spare, row.name)
        self.shell.put(AskChoice(f"Plug {row.number}, not in the rig", line, choices, pick))

    def _take_spare(self, device: str, n: int) -> None:
        rig = self.work.rig
        if n == 2:
            self.work.tell(SparesWanted())
            return
        name = rig.receiver.port if n == 0 else self._free_name()
        stays = device if device.startswith(STAYING) else "auto"
        if self.shell.save(take_port(rig, name, ("receiver", "node")[n], stays)):
            left = tuple(one for one in self.work.spares.devices if one.device != device)
            self.work.spares = Spares(left)
        self.shell.again()

    def _open(self, row: PlugRow) -> None:
        state = next(p for p in self.plugs() if p.name == row.name)
        port = next((p for p in self.work.rig.ports if p.name == row.name), Port(row.name))
        baud = f"{port.baud} baud" if port.baud else "speed found by itself"
        line = ". ".join(
            part for part in (how_often(state.rate_hz), state.detail or port.device, baud) if part
        )
        choices = (
            ("Take as receiver", "position, speed, course"),
            ("Take as node", "depth, springs, switches"),
            ("Not fitted", "take this plug out of the rig"),
        )
        chosen = {"receiver": 0, "node": 1}.get(port.role)
        title = f"Plug {row.number}, {row.name}"
        self.shell.put(AskChoice(title, line, choices, partial(self._take, port), chosen))

    def _take(self, port: Port, n: int) -> None:
        rig = self.work.rig
        if n < 2:
            role = ("receiver", "node")[n]
            self.shell.save(take_port(rig, port.name, role, port.device, port.baud))
        elif port.name == rig.receiver.port:
            self.shell.tell_fault("The receiver's plug stays: take another plug as receiver first.")
        elif any(s.port == port.name for s in rig.sensors):
            self.shell.tell_fault("Sensors hang on this plug: take them out first, page Sensors.")
        else:
            ports = tuple(p for p in rig.ports if p.name != port.name)
            self.shell.save(replace(rig, ports=ports))
        self.shell.again()

    def _listen(self) -> None:
        self.shell.put(Notice("Listen anew", LISTEN, ("Listen", self._send), warn=False))

    def _send(self) -> None:
        self.work.unsent = True
        self.work.send()
        self.shell.again()
