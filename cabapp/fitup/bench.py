"""Every alert fired on the bench, without driving: seen and, where it sounds, heard."""

from dataclasses import dataclass, replace

from cabapp.firing import FIRST, fired
from cabapp.words import Level, Rule

SOUNDING = (Level.ACT, Level.LOOK, Level.NO_READING)


@dataclass(frozen=True)
class BenchRow:
    """One alert to fire: its words as they will be shown, and what was seen and heard of it."""

    rule: Rule
    level: Level
    headline: str
    action: str
    sounds: bool
    seen: bool = False
    heard: bool = False

    @property
    def done(self) -> bool:
        return self.seen and (self.heard or not self.sounds)


@dataclass(frozen=True)
class BenchTest:
    """The list of alerts; a frozen value, so that a power cut keeps what was confirmed."""

    rows: tuple[BenchRow, ...]

    def confirm(self, rule: Rule, seen: bool, heard: bool) -> "BenchTest":
        """What a person saw and heard after firing one; KeyError for a rule not listed."""
        if all(row.rule is not rule for row in self.rows):
            raise KeyError(rule)
        return BenchTest(
            tuple(
                replace(row, seen=seen, heard=heard and row.sounds) if row.rule is rule else row
                for row in self.rows
            )
        )

    @property
    def next(self) -> Rule | None:
        """The next one to fire, None when all are done."""
        return next((row.rule for row in self.rows if not row.done), None)

    @property
    def done(self) -> int:
        return sum(row.done for row in self.rows)

    @property
    def words(self) -> str:
        """``31 of 45 seen and heard``."""
        return f"{self.done} of {len(self.rows)} seen and heard"


def bench_test() -> BenchTest:
    """All alerts of the table, in their ranking, each in its first wording."""
    return BenchTest(tuple(_row(rule) for rule in Rule if rule in FIRST))


def _row(rule: Rule) -> BenchRow:
    said = fired(rule)
    return BenchRow(rule, said.level, said.headline, said.action, said.level in SOUNDING)
