"""The receiver: what it sends, its speed at rest, and a course driven against a tape or posts.

The page goes when the machine sets off; the engine counts the metres meanwhile.
"""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from cabapp.engine.wire import PortLine, Receiving
from cabapp.fitup.evidence import REST_LEAST_S, CourseProof, ReceiverProof
from cabapp.fitup.findings import Measure
from cabapp.fitup.geometry import aside_text
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.fitup.receiver import (
    EDGE_M,
    FIX_WORDS,
    Driven,
    RestWatch,
    course_length,
    ended,
    far_text,
    least_course,
)
from cabapp.screens.pages.fitup_asks import AskChoice, AskFigure, Notice, plate
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.paper import GO, PLAIN, QUIET, Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.theme import Role
from cabapp.units import UnitSystem, shown_unit

if TYPE_CHECKING:
    from cabapp.screens.pages.fitup import FitupPage

Row = tuple[str, str, str, Mark, str, Callable[[], None] | None]


class ReceiverLeaf(Leaf):
    """Five facts, each with its mark; at the foot what is to be done next, and its keys."""

    page = Page.RECEIVER

    def __init__(self, shell: "FitupPage") -> None:
        super().__init__(shell)
        self.rest = RestWatch()
        self.told: Receiving | None = None
        self.taped_m: float | None = None
        self.start: Driven | None = None
        self.anew = False  # the rest is watched although one was kept

    # -- what is heard ----------

    def open(self) -> None:
        self.rest, self.anew = RestWatch(), False

    def receiving(self, told: Receiving) -> None:
        """The engine's word on the receiver, four times a second."""
        self.told = told
        if self.start is None:
            self.rest.hear(told.speed_mps, told.at)
        else:
            self.rest = RestWatch()  # what is driven is not rest

    @property
    def line(self) -> PortLine | None:
        """The receiver's plug."""
        name = self.work.rig.receiver.port
        return next((line for line in self.work.ports if line.name == name), None)

    @property
    def driven(self) -> Driven | None:
        """The engine's count now."""
        told = self.told
        return None if told is None else Driven(told.metres, told.lost_s, told.since)

    def state(self) -> tuple[Mark, str]:
        course, still = self.work.evidence.course, self._held
        true = course is not None and course.holds
        if still and true:
            return Mark.DONE, "Still, true to a tape"
        if course is not None and not course.holds:
            return Mark.TROUBLE, f"Off by {100 * course.off_share:.1f} %"
        if still:
            return Mark.TO_DO, "Still; no course driven"
        return Mark.TO_DO, "Rest not seen" if true else "Not proven"

    # -- how it is written ----------

    def write(self, paper: Paper) -> None:
        self.head(right=self.shell.right - 208)
        self.shell.side_key(0, "rest_anew", self._anew, "Watch", "rest anew")
        pitch = 56.0 if paper.layout.small else 72.0
        names = 24 + (0.20 if paper.layout.small else 0.18) * (self.shell.right - 24)
        for n, (name, what, text, mark, word, fire) in enumerate(self.rows()):
            row = (name, what, text, mark, word, fire)
            self._row(paper, row, 134 + pitch * n, names, pitch)
        self._foot(paper)

    def _row(self, paper: Paper, row: Row, y: float, x: float, pitch: float) -> None:
        name, what, text, mark, word, fire = row
        foot, right = y + pitch / 2 + 12, self.shell.right
        end = right - (0.21 if paper.layout.small else 0.19) * (right - 24)
        self.mark(paper, mark, 30, foot - 27)
        paper.say(what, 76, foot, 26, limit=x + 44 - 76)
        paper.say(text, x + 52, foot, 24, Role.SOFT, False, limit=end - x - 60)
        paper.say(word, right, foot, 23, align="right", limit=right - end)
        self.rule(paper, y + pitch - 3)
        if fire is not None:
            paper.touch(name, Rect(24, y, right - 24, pitch - 3), fire)

    def rows(self) -> tuple[Row, ...]:
        """What it sends, how it is fixed, how it rests, the course, and where the antenna is."""
        return (self._sends(), self._fix(), self._rests(), self._course(), self._place())

    def _sends(self) -> Row:
        line = self.line
        if line is None or not line.kinds:
            return "sends", "Sends", "nothing yet", Mark.TO_DO, "see Plugs", self._plugs
        kinds = ", ".join(kind for kind in line.kinds if kind.isupper())
        enough = line.rate_hz >= 0.9 and {"RMC", "VTG"} & set(line.kinds)
        text = f"{kinds}: {line.rate_hz:.0f} a second"
        if enough:
            return "sends", "Sends", text, Mark.DONE, "enough", self._plugs
        return "sends", "Sends", text, Mark.TROUBLE, "wants RMC", self._plugs

    def _fix(self) -> Row:
        told = self.told
        if told is None:
            return "fix", "Fix", "nothing heard", Mark.TO_DO, "wait", None
        words = [FIX_WORDS[told.kind]]
        if told.kind not in EDGE_M:
            return "fix", "Fix", words[0], Mark.TO_DO, "wait", None
        if told.satellites is not None:
            words.append(f"{told.satellites} satellites")
        edge = f"edge to {self._far(EDGE_M[told.kind])}"
        return "fix", "Fix", ", ".join(words), Mark.DONE, edge, None

    def _rests(self) -> Row:
        kept, most = self.work.evidence.receiver, self.rest.most_mps
        limit = self.work.rig.receiver.standing_below_mps
        if kept is not None and not self.anew:  # what is kept stands until it is asked for anew
            mark = Mark.DONE if kept.holds(limit) else Mark.TROUBLE
            text = f"{self._speed(kept.rest_most_mps)} at most, in {kept.rest_s:.0f} s"
            return "rest", "At rest", text, mark, "kept", None
        if most is None:
            return "rest", "At rest", "no speed to watch", Mark.TO_DO, "wait", None
        text = f"{self._speed(most)} at most, in {self.rest.seconds:.0f} s"
        if most >= limit:
            return "rest", "At rest", text, Mark.TROUBLE, f"over {self._speed(limit)}", None
        if self.rest.seconds < REST_LEAST_S:
            left = REST_LEAST_S - self.rest.seconds
            return "rest", "At rest", text, Mark.TO_DO, f"{left:.0f} s more", None
        return "rest", "At rest", text, Mark.TO_DO, "keep it", None

    def _course(self) -> Row:
        course = self.work.evidence.course
        if self.start is not None and self.driven is not None:
            metres = max(0.0, self.driven.metres - self.start.metres)
            text = f"{self._far(metres)} driven of {self._far(self.taped_m or 0.0)}"
            return "course", "Course", text, Mark.TO_DO, "under way", None
        if course is None:
            return "course", "Course", "none driven", Mark.TO_DO, "not proven", self._ask
        taped, measured = self._far(course.taped_m), self._far(course.measured_m)
        text = f"{taped} by tape, {measured} by its speed"
        mark = Mark.DONE if course.holds else Mark.TROUBLE
        return "course", "Course", text, mark, f"off {100 * course.off_share:.1f} %", self._ask

    def _place(self) -> Row:
        tool, receiver = self.work.rig.tool, self.work.rig.receiver
        reach = self._far(tool.hitch_back_m + tool.lag_m)
        aside = aside_text(receiver.antenna_right_m, self.shell.units)
        text = f"{reach} to the shanks, {aside}"
        taped = self.work.evidence.lengths_taped
        mark = Mark.DONE if taped else Mark.TO_DO
        return "place", "Antenna", text, mark, "taped" if taped else "not taped", self._tool

    def _foot(self, paper: Paper) -> None:
        y, wide = self.shell.bottom - 88, self.shell.right - 24
        self.shell.caution(self.words.cautions[0], 24, y - 150, wide)
        plate(paper, Rect(24, y - 104, wide, 92), *self._next())
        third = (wide - 28) / 3
        taped = "" if self.taped_m is None else self._far(self.taped_m)
        under_way = self.start is not None
        keys = (
            ("keep", self._keep, ("Keep the rest",), GO if self._to_keep() else QUIET),
            ("length", self._ask, ("Course", taped or "tape or posts"), PLAIN),
            ("end", self._end, ("At the far mark",), GO)
            if under_way
            else ("start", self._begin, ("At the first mark",), GO if taped else QUIET),
        )
        for n, (name, fire, words, look) in enumerate(keys):
            paper.key(name, Rect(24 + n * (third + 14), y, third, 88), fire, *words, look=look,
                      high=27)  # fmt: skip

    def _next(self) -> tuple[str, str]:
        """What to do now."""
        if self.start is not None:
            return (
                "Drive to the far mark and stop",
                "Forward only, at working speed. The page goes while you drive: come back to it.",
            )
        if self.told is None or self.told.kind not in EDGE_M:
            return "No fix yet", "In a shed this stays open: prove it outside, under open sky."
        course = self.work.evidence.course
        if self._to_keep():
            return "It rests: keep it", "Then drive a course against a tape or counted posts."
        if self.anew:
            return (
                f"Stand still for {REST_LEAST_S:.0f} s",
                "What was kept before stands until this is kept.",
            )
        if self._held and course is not None and course.holds:
            return "Still at rest, and true to a tape", "Both are on the sign-off sheet."
        if self.taped_m is None:
            return (
                "Stand still, and lay out a course",
                f"{least_course(self.shell.units)} or more, straight, two marks.",
            )
        return "Stop at the first mark", "The same wheel at both marks; then touch the key."

    # -- units ----------

    def _far(self, metres: float) -> str:
        return far_text(metres, self.shell.units, 1)

    def _speed(self, speed_mps: float) -> str:
        return Measure(shown_unit("speed", self.shell.units)).text(speed_mps)

    # -- what keys do ----------

    def _proof(self) -> ReceiverProof | None:
        """What may be kept of this rest."""
        line, told = self.line, self.told
        if line is None or told is None:
            return None
        proof = self.rest.proof(line.kinds, line.rate_hz, told.kind)
        if proof is None or not proof.holds(self.work.rig.receiver.standing_below_mps):
            return None
        return proof

    def _to_keep(self) -> bool:
        """Whether this rest proves something that is not kept yet."""
        wanted = self.anew or not self._held
        return wanted and self._proof() is not None

    @property
    def _held(self) -> bool:
        """Whether a rest that is still enough has been kept."""
        kept = self.work.evidence.receiver
        return kept is not None and kept.holds(self.work.rig.receiver.standing_below_mps)

    def _anew(self) -> None:
        self.rest, self.anew = RestWatch(), self._held
        self.shell.again()

    def _keep(self) -> None:
        proof = self._proof()
        if proof is None:
            self.shell.tell_fault(
                f"Stand still for {REST_LEAST_S:.0f} s with a fix first, and a speed each second."
            )
            return
        if self._prove(receiver=proof):
            self.anew = False
            self.shell.again()

    def _prove(self, **parts: object) -> bool:
        changed = replace(self.work.evidence, **parts)  # type: ignore[arg-type]
        fault = self.shell.tell_fault(self.work.prove(changed))
        self.shell.again()
        return not fault

    def _plugs(self) -> None:
        self.shell.go(Page.PLUGS)

    def _tool(self) -> None:
        self.shell.go(Page.TOOL)

    def _ask(self) -> None:
        choices = (("By tape", "mark to mark"), ("By posts", "counted, the same way apart"))
        self.shell.put(AskChoice("The course", "How is it measured?", choices, self._how))

    def _how(self, n: int) -> None:
        units = ("ft", "m") if self.shell.units is UnitSystem.US else ("m", "ft")
        if n == 0:
            line = "From mark to mark, straight."
            self.shell.put(AskFigure("Course by tape", line, self._taped, units))
            return

        def gaps(count: float) -> str:
            if not (count.is_integer() and 1 <= count <= 500):
                return f"{count:g} gaps cannot be right. Expected 1 to 500, a whole number."
            line = "Tape one gap, middle to middle."
            apart = partial(self._posts, count)
            self.shell.put(AskFigure("From post to post", line, apart, units))
            return ""

        self.shell.put(AskFigure("Gaps between posts", "One less than the posts.", gaps))

    def _posts(self, count: float, apart_m: float) -> str:
        return self._taped(count * apart_m)

    def _taped(self, metres: float) -> str:
        fault = course_length(metres, self.shell.units)
        if not fault:
            self.taped_m, self.start = metres, None
        return fault

    def _begin(self) -> None:
        if self.taped_m is None:
            self._ask()
        elif self.driven is None or self.told is None or self.told.speed_mps is None:
            self.shell.tell_fault("No speed is heard: wait for open sky.")
        else:
            self.start = self.driven
            self.shell.again()

    def _end(self) -> None:
        if self.start is None or self.taped_m is None or self.driven is None:
            return
        found = ended(self.taped_m, self.start, self.driven, self.shell.units)
        if not isinstance(found, CourseProof):
            if not found.startswith("Nothing was driven"):
                self.start = None
            self.shell.tell_fault(found, "The course proves nothing")
            return
        self.start = None
        if self._prove(course=found):
            off = f"Off by {100 * found.off_share:.1f} %: "
            said = (
                "it holds." if found.holds else "too much. Measure again, and drive it once more."
            )
            self.shell.put(Notice("The course", (off + said,), warn=not found.holds))
