"""Both sounds in the running cab, and every alert fired on the bench."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from cabapp.engine.wire import Loudness
from cabapp.events import TapKind
from cabapp.fitup.bench import BenchRow, BenchTest, bench_test
from cabapp.fitup.evidence import SoundProof
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.outcome import BandView
from cabapp.screens.pages.fitup_asks import plate
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.page import ParkedPage
from cabapp.screens.pages.paper import GO, PLAIN, QUIET, Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box, round_frame
from cabapp.screens.theme import Role
from cabapp.words import Level, Rule

if TYPE_CHECKING:
    from cabapp.screens.pages.fitup import FitupPage

LEVEL_WORDS = {
    Level.ACT: "act sound",
    Level.LOOK: "look sound",
    Level.NO_READING: "sounds once",
    Level.NOTE: "no sound",
}
SIGN_OF = {
    Level.ACT: "act",
    Level.LOOK: "look",
    Level.NO_READING: "no_reading",
    Level.NOTE: "note",
}
QUESTIONS = (
    ("engine_running", "Engine at working speed, doors shut"),
    ("act_heard", "Act sound heard: look at once"),
    ("look_heard", "Look sound heard: when you can"),
    ("told_apart", "Neither is taken for the other"),
)
PLAYS = (  # the key, what the engine is to sound, and its words
    ("act", Rule.SHANK_UP.value, "Play act"),
    ("look", Rule.TOO_FAST.value, "Play look"),
    ("stepped", f"{Rule.SHANK_UP.value} louder", "Act, louder"),
)
LOUD = {"first": "Both, at first", "stepped": "Act, after 5 s"}
SOFTEST, LOUD_STEP = 0.2, 0.1


class SoundsLeaf(Leaf):
    """Play both, set how loud, say what was heard; only all four together prove it."""

    page = Page.SOUNDS

    def __init__(self, shell: "FitupPage") -> None:
        super().__init__(shell)
        self.said: dict[str, bool] = {}

    def state(self) -> tuple[Mark, str]:
        proof = self.work.evidence.sound
        if proof is None:
            return Mark.TO_DO, "Not heard yet"
        if proof.holds:
            return Mark.DONE, "Heard and told apart"
        return Mark.TROUBLE, "Not all was heard"

    def open(self) -> None:
        proof = self.work.evidence.sound
        self.said = {name: bool(proof and getattr(proof, name)) for name, _ in QUESTIONS}

    def write(self, paper: Paper) -> None:
        self.head()
        foot = self.shell.bottom - 104
        high = min(92.0, (foot - 134 - 4 * 14) / 4)
        wide = (self.shell.right - 24 - 28) / 3
        for n, (name, what, word) in enumerate(PLAYS):
            rect = Rect(24 + n * (wide + 14), 134, wide, high)
            paper.key(f"play_{name}", rect, partial(self._play, what), word, sign="sound")
        half = (self.shell.right - 24 - 14) / 2
        for n, name in enumerate(LOUD):
            self._loud(paper, name, Rect(24 + n * (half + 14), 148 + high, half, high))
        for n, (name, words) in enumerate(QUESTIONS):
            column, row = divmod(n, 2)
            y = 162 + 2 * high + row * (high + 14)
            self._question(paper, name, words, Rect(24 + column * (half + 14), y, half, high))
        all_said = all(self.said.get(name) for name, _ in QUESTIONS)
        advice = (
            "Hear both with the ear where you sit",
            "At most 85 dB(A) there, by a meter.",
        )
        plate(paper, Rect(24, foot, self.shell.right - 24 - 320, 104), *advice)
        rect = Rect(self.shell.right - 300, foot + 8, 300, 88)
        paper.key("accept", rect, self._accept, "Say so", look=GO if all_said else PLAIN)

    def _loud(self, paper: Paper, name: str, r: Rect) -> None:
        keys = r.right - 2 * 104 - 14
        value = getattr(self.work.loudness, name)
        paper.say(LOUD[name], r.x, r.y + r.h / 2 - 6, 23, Role.SOFT, False, limit=keys - r.x - 12)
        paper.say(f"{100 * value:.0f} %", r.x, r.y + r.h / 2 + 36, 30)
        for n, (sign, way) in enumerate((("minus", -1), ("plus", 1))):
            rect = Rect(keys + n * 118, r.y, 104, r.h)
            look = PLAIN if self._changed(name, way) is not None else QUIET
            paper.key(f"{name}_{sign}", rect, partial(self._turn, name, way), sign=sign, look=look)

    def _changed(self, name: str, way: int) -> Loudness | None:
        """One step softer or louder; the act sound never steps down."""
        value = round(getattr(self.work.loudness, name) + way * LOUD_STEP, 2)
        changed = {"first": self.work.loudness.first, "stepped": self.work.loudness.stepped}
        changed[name] = value
        if not SOFTEST <= changed["first"] <= changed["stepped"] <= 1.0:
            return None
        return Loudness(**changed)

    def _turn(self, name: str, way: int) -> None:
        loudness = self._changed(name, way)
        if loudness is None:
            return
        heard = ("act_heard", "look_heard", "told_apart")  # at another loudness: not any more
        self.said.update(dict.fromkeys(heard, False))
        self.shell.tell_fault(self.work.set_loudness(loudness))
        self.shell.again()

    def _question(self, paper: Paper, name: str, words: str, r: Rect) -> None:
        said = self.said.get(name, False)
        paper.fill(Role.SOFT, round_frame(r.x, r.y, r.w, r.h, 12, 3))
        size = min(44.0, r.h - 30)
        paper.sign("done" if said else "to_do", r.x + 18, r.y + (r.h - size) / 2, size)
        high, room = max(23.0, paper.floor), r.w - 88
        rows = len(paper.wrapped(words, room, high))
        foot = r.y + r.h / 2 + high / 2 - (rows - 1) * 0.65 * high
        paper.lines(words, r.x + 76, foot, high, room, 2, pitch=1.3)
        paper.touch(name, r, partial(self._toggle, name))

    def _toggle(self, name: str) -> None:
        self.said[name] = not self.said.get(name, False)
        self.shell.again()

    def _play(self, what: str) -> None:
        self.shell.send_tap(TapKind.FIRE, what)

    def _accept(self) -> None:
        loud = self.work.loudness
        said = {name: self.said.get(name, False) for name, _ in QUESTIONS}
        proof = SoundProof(**said, first=loud.first, stepped=loud.stepped)
        self.shell.tell_fault(self.work.prove(replace(self.work.evidence, sound=proof)))
        self.shell.again()


class AlertsLeaf(Leaf):
    """The list of alerts; a row fires its own, and asks what was seen and heard."""

    page = Page.ALERTS
    start = 0

    def __init__(self, shell: "FitupPage") -> None:
        super().__init__(shell)
        self.test: BenchTest = bench_test()

    def state(self) -> tuple[Mark, str]:
        done, all_ = self.work.evidence.bench_done, len(self.test.rows)
        return (Mark.DONE if done == all_ else Mark.TO_DO), f"{done} of {all_} done"

    def open(self) -> None:
        fresh = bench_test()
        for name in self.work.evidence.bench_seen:
            rule = next((row.rule for row in fresh.rows if row.rule.value == name), None)
            if rule is not None:
                fresh = fresh.confirm(rule, True, True)
        self.test = fresh

    def turn(self) -> None:
        self.start += self._shown
        self.shell.again()

    @property
    def _shown(self) -> int:
        return 2 * int((self.shell.bottom - 102 - 134 + 14) // 102)

    def write(self, paper: Paper) -> None:
        self.head()
        rows, count = self._shown // 2, len(self.test.rows)
        self.start = self.start if self.start < count else 0
        wide = (self.shell.right - 24 - 14) / 2
        for n, row in enumerate(self.test.rows[self.start : self.start + self._shown]):
            column, line = divmod(n, rows)
            self._row(paper, row, Rect(24 + column * (wide + 14), 134 + line * 102, wide, 88))
        y = self.shell.bottom - 88
        following = self.test.next
        first = 24.0
        if following is not None:
            paper.key(
                "next",
                Rect(first, y, wide, 88),
                partial(self.fire, following),
                "Fire the next",
                self.test.words,
                look=GO,
            )
        else:
            paper.say(self.test.words, first, y + 56, 28)
        self.pager(
            paper, Rect(self.shell.right - wide, y, wide, 88), self._shown, count, self.start
        )

    def _row(self, paper: Paper, row: BenchRow, r: Rect) -> None:
        paper.fill(Role.SOFT, round_frame(r.x, r.y, r.w, r.h, 12, 3))
        self.mark(paper, Mark.DONE if row.done else Mark.TO_DO, r.x + 18, r.y + 26, 34)
        paper.say(row.headline, r.x + 72, r.y + 40, 26, limit=r.w - 90)
        line = row.action or LEVEL_WORDS[row.level]
        if not paper.layout.small and row.action:
            line = f"{row.action}: {LEVEL_WORDS[row.level]}"
        paper.say(line, r.x + 72, r.y + 74, 19, Role.SOFT, False, limit=r.w - 90)
        paper.touch(f"fire_{row.rule.value}", r, partial(self.fire, row.rule))

    def fire(self, rule: Rule) -> None:
        """Have the engine show and sound it, and ask."""
        self.shell.send_tap(TapKind.FIRE, rule.value)
        row = next(row for row in self.test.rows if row.rule is rule)
        self.shell.put(Fired(row, partial(self._confirm, row), partial(self.fire, rule)))

    def _confirm(self, row: BenchRow, well: bool) -> None:
        self.test = self.test.confirm(row.rule, well, well)
        seen = tuple(r.rule.value for r in self.test.rows if r.done)
        evidence = replace(
            self.work.evidence,
            bench_seen=seen,
            bench_done=self.test.done,
            bench_all=len(self.test.rows),
        )
        if self.shell.tell_fault(self.work.prove(evidence)):
            return
        following = self.test.next
        if well and following is not None:
            self.fire(following)


class Fired:
    """An alert as the engine shows it now, and the question whether it was seen and heard."""

    def __init__(
        self, row: BenchRow, confirm: Callable[[bool], None], again: Callable[[], None]
    ) -> None:
        self.row, self.confirm, self.fire_again = row, confirm, again
        self.shown: BandView | None = None

    def band(self, page: ParkedPage) -> BandView | None:
        """The engine's own band, where it is this alert's; once shown it may be answered."""
        view = page.snapshot.band if page.snapshot is not None else None
        if view is None or view.rule != self.row.rule.value:
            return None
        self.shown = view
        return view

    def write(self, page: ParkedPage, paper: Paper, close: Callable[[], None]) -> None:
        """The alert large, then the keys."""
        page.head("On the bench", LEVEL_WORDS[self.row.level].capitalize(), "Back", close)
        band = self.band(page)
        self._alert(page, paper, band)
        y, wide = page.bottom - 88, (page.right - 24 - 28) / 3
        word = "Seen and heard" if self.row.sounds else "Seen"
        keys: tuple[tuple[str, str, Callable[[], None], bool], ...] = (
            ("fire_again", "Fire again", self.fire_again, True),
            ("not_so", "Not so", partial(self._answer, close, False), True),
            ("well", word, partial(self._well, close), self.shown is not None),
        )
        for n, (name, text, fire, may) in enumerate(keys):
            look = (GO if name == "well" else PLAIN) if may else QUIET
            paper.key(name, Rect(24 + n * (wide + 14), y, wide, 88), fire, text, look=look)
        line = "Shown by the engine now" if band else "Was it seen? Fire again to look once more"
        if self.shown is None:
            line = "The engine has not shown it yet"
        paper.say(line, 24, y - 40, 26, Role.SOFT, False)

    def _alert(self, page: ParkedPage, paper: Paper, band: BandView | None) -> None:
        level = self.row.level
        r = Rect(24, 150, page.right - 24, 220)
        back, ink = {
            Level.ACT: (Role.ACT, Role.ON_ACT),
            Level.LOOK: (Role.LOOK, Role.ON_LOOK),
        }.get(level, (Role.GROUND, Role.INK))
        if band is None:
            back, ink = Role.GROUND, Role.SOFT
        paper.fill(back, box(r.x, r.y, r.w, r.h))
        edge = Role.ACT_EDGE if level is Level.ACT else Role.INK
        paper.fill(edge, round_frame(r.x, r.y, r.w, r.h, 4, 6))
        paper.sign(SIGN_OF[level], r.x + 34, r.y + 40, 140, ink, hole=back)
        headline = band.headline if band else self.row.headline
        action = band.action if band else self.row.action
        paper.say(headline, r.x + 210, r.y + 112, 58, ink, limit=r.w - 230)
        paper.say(action, r.x + 210, r.y + 172, 32, ink, limit=r.w - 230)

    def _well(self, close: Callable[[], None]) -> None:
        """Only what the engine has truly shown can have been seen."""
        if self.shown is not None:
            self._answer(close, True)

    def _answer(self, close: Callable[[], None], well: bool) -> None:
        close()
        self.confirm(well)
