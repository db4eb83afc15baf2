"""Buried lines: what must be known before a pit, a probe or deep work, by the place's rules."""

from dataclasses import dataclass
from datetime import date

from cabapp.rig import Rig
from cabapp.trade.lines import CAUTIONS, LineRules, first_day, last_day, may_work, must_ask
from cabapp.trade.sources import OWN_DEFAULT
from cabapp.units import INCH_M, UnitSystem
from cabapp.walk.entries import Answers
from cabapp.walk.findings import length_words

CLEARED = ("answered", "marked")
KEY = "buried"  # the checks' question
# What each step does to the ground. A spade at a slot goes no deeper than the shank went, so a dig
# asks by depth like the work itself; a pit and a probe ask always.
PITS = ("hard_layer", "will_it_pull")
BY_DEPTH = ("shank_depth",)


@dataclass(frozen=True)
class Hold:
    """Why a step waits for word about buried lines: in short, a headline, the lines to show."""

    short: str
    headline: str
    lines: tuple[str, ...]


def line_rules(rig: Rig) -> LineRules:
    """The rules of the place as the rig file gives them."""
    place = rig.locale
    return LineRules(place.lines_service, rig.limits.line_depth_m, place.lines_days,
                     place.lines_good_days or None, place.lines_stay_clear_m or None,
                     OWN_DEFAULT)  # fmt: skip


def hold_for(
    step_id: str, checks: Answers, depth_m: float | None, rig: Rig, day: str, system: UnitSystem
) -> Hold | None:
    """What holds a step, or None: ``checks`` are this field's answers, ``day`` today's text.

    ``depth_m`` is the depth to be worked, None where it is not known yet.
    """
    rules = line_rules(rig)
    pit = step_id in PITS
    if not pit and step_id not in BY_DEPTH:
        return None
    if not must_ask(depth_m or INCH_M, rules, pit=pit):
        return None
    said = checks.choice(KEY)
    if said in CLEARED:
        return _too_old(rules, checks, day, _lines(rules, pit, system))
    short = "No answer on lines yet" if said == "asked" else "Ask for lines first"
    return Hold(short, _headline(said, rules, checks, day), _lines(rules, pit, system))


def _too_old(rules: LineRules, checks: Answers, day: str, lines: tuple[str, ...]) -> Hold | None:
    """What holds a step although there is an answer: counted from the day it was written down."""
    entry = checks.entry(KEY)
    answered, today = day_of(entry.day if entry else ""), day_of(day)
    last = None if answered is None else last_day(answered, rules)
    if last is None or today is None or today <= last:
        return None
    headline = f"Answer good until {last.day} {last:%b}: ask again"
    return Hold("Answer on lines too old", headline, lines)


def _headline(said: str, rules: LineRules, checks: Answers, day: str) -> str:
    if said != "asked":
        return f"Ask first: {rules.service}"
    entry = checks.entry(KEY)
    asked, today = day_of(entry.day if entry else ""), day_of(day)
    if asked is None or today is None:
        return "Asked, no answer yet: wait for it"
    begins = first_day(asked, rules)
    if may_work(today, asked, rules) is False and begins is not None:
        return f"Asked: wait until {begins.day} {begins:%b} at least"
    return "The notice is over: is the answer there?"


def _lines(rules: LineRules, pit: bool, system: UnitSystem) -> tuple[str, ...]:
    depth = length_words(rules.ask_below_m, system)
    when = "Before any pit, probe or spade hole" if pit else f"Before work deeper than {depth}"
    days = rules.notice_business_days
    notice = f", {days} business days ahead" if days else ""
    found = [f"{when}: {rules.service}{notice}."]
    if rules.keep_off_m is not None:
        found.append(f"Stay {length_words(rules.keep_off_m, system)} clear of any mark.")
    return (*found, *CAUTIONS)


def day_of(text: str) -> date | None:
    """The date of a day's text, None for a day that was only counted."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
