"""What a step makes of its answers, and what it knows when it does so."""

from dataclasses import dataclass, field
from enum import Enum

from cabapp.rig import Rig
from cabapp.units import UnitSystem, fraction_text, to_unit


class Verdict(Enum):
    """How the answers stand."""

    OPEN = "open"  # something is still to be measured
    PASS = "pass"
    ADJUST = "adjust"
    CAUTION = "caution"  # go on, knowing this
    WAIT = "wait"  # do not go on


@dataclass(frozen=True)
class Finding:
    """One step's result.

    ``sums`` are the lines of arithmetic as shown; ``headline`` and ``detail`` the adjustment or
    verdict in words; ``missing`` what is still to be answered; ``leads_to`` the step an
    adjustment belongs to; ``values`` what other steps and the plan use, SI.
    """

    verdict: Verdict
    headline: str
    detail: str = ""
    sums: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    leads_to: str = ""
    values: dict[str, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    summary: str = ""

    @property
    def done(self) -> bool:
        """Whether the step is finished: everything measured, nothing left to adjust."""
        return self.verdict in (Verdict.PASS, Verdict.CAUTION) and not self.missing


@dataclass(frozen=True)
class About:
    """What a step knows besides its own answers: the rig, the reader's units, earlier findings."""

    rig: Rig
    system: UnitSystem
    findings: dict[str, Finding] = field(default_factory=dict)

    def value(self, step: str, key: str) -> float | None:
        """A value another step found, None while that step has none."""
        finding = self.findings.get(step)
        return None if finding is None else finding.values.get(key)


def length_words(length_m: float, system: UnitSystem) -> str:
    """A measured length with its unit: quarters of an inch, or half centimetres."""
    if system is UnitSystem.US:
        return f"{fraction_text(to_unit(length_m, 'in'), 4)} in"
    return f"{round(to_unit(length_m, 'cm') * 2) / 2:g} cm"


def length_figure(length_m: float, system: UnitSystem) -> str:
    """The same without its unit, for sums that carry the unit once at the end."""
    return length_words(length_m, system).rsplit(" ", 1)[0]
