"""The report: one self-contained HTML page of a shift, two printed pages, without any script."""

from dataclasses import dataclass
from pathlib import Path

from jinja2 import Environment, StrictUndefined

from cabapp.review.digits import (
    NONE,
    area_text,
    fine_depth_text,
    hours_text,
    length_text,
    place_text,
)
from cabapp.review.draw_map import map_svg
from cabapp.review.draw_shares import legend_svg, shares_svg
from cabapp.review.draw_spread import distributions_svg
from cabapp.review.draw_strips import strips_svg
from cabapp.review.ends import GUESSED_S, ends_text, inferred_passes
from cabapp.review.figures import Figure, figures
from cabapp.review.happened import change_value, clock_text, stretch_text
from cabapp.review.notes import Note
from cabapp.review.pegs import pegs_of, pegs_words
from cabapp.review.phrases import (
    band_lines,
    edge_text,
    headline,
    not_judged,
    span_text,
    title,
    tool_text,
)
from cabapp.review.season import HEADS, Season, table_of
from cabapp.review.shift import Shift
from cabapp.review.soil import ASSUMED, WORDS
from cabapp.review.summary import Summary
from cabapp.review.sums import ALL, THINGS
from cabapp.review.told import LEVEL_WORDS, Told, change_words
from cabapp.review.tomorrow import pulled_hard, tomorrow_of
from cabapp.trade.draft import FUEL_SOURCE, Soil
from cabapp.units import UnitSystem

TEMPLATE = Path(__file__).with_name("report.html")
SEASON = Path(__file__).with_name("season.html")
MOST_ALERTS = 8  # what two printed pages hold; the exports have them all
MOST_CHANGES = 5
MOST_CHECKS = 5
MOST_NOTES = 3
FACTS = ("area_gross", "area_net", "overlap", "passes", "rate", "rate_plan", "efficiency", "speed")


@dataclass(frozen=True)
class Options:
    """Which report: units, the customer's version without the driver's alerts, judged again."""

    units: UnitSystem
    customer: bool = False
    judged_again: bool = False


def report_html(summary: Summary, options: Options, notes: tuple[Note, ...] = ()) -> str:
    """The page as text. Everything that came from the file is escaped."""
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True)
    template = environment.from_string(TEMPLATE.read_text(encoding="utf-8"))
    return template.render(**_words(summary, options, notes), **_pictures(summary, options.units))


def season_html(season: Season, units: UnitSystem) -> str:
    """A season as one page: shares over all shifts, then a line for each shift and rig."""
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True)
    template = environment.from_string(SEASON.read_text(encoding="utf-8"))
    count, area = season.whole.shifts, area_text(season.whole.gross_m2, units)
    return template.render(
        title=f"{count} shift{'s' if count != 1 else ''}, {area}",
        shares=shares_svg({thing: season.whole.share(thing) for thing in THINGS}),
        legend=legend_svg(),
        heads=HEADS,
        rows=table_of(season, units),
        shifts=len(season.lines),
        faults=season.faults,
    )


def _pictures(summary: Summary, units: UnitSystem) -> dict[str, str]:
    shift = summary.shift
    return {
        "shares": shares_svg(shift.sums.shares),
        "legend": legend_svg(),
        "map": map_svg(summary, units),
        "strips": strips_svg(summary, units),
        "spread": distributions_svg(shift, units),
    }


def _words(summary: Summary, options: Options, notes: tuple[Note, ...]) -> dict[str, object]:
    shift, units = summary.shift, options.units
    by_key = {figure.key: figure for figure in figures(summary, units)}
    inside, unknown = headline(shift.sums)
    alerts = () if options.customer else summary.alerts
    changes = () if options.customer else summary.changes
    estimates = [by_key[key] for key in ("draft", "fuel", "fuel_per_area") if key in by_key]
    return {
        "title": title(shift.brief),
        "customer": options.customer,
        "who": _who(shift, options),
        "inside": inside,
        "unknown": unknown,
        "facts": [by_key[key] for key in FACTS],
        "judged": _judged(shift, units),
        "hours": _hours(by_key),
        "trips": by_key["trips"].text,
        "lapses": [by_key[key] for key in by_key if key.startswith("lapse_")],
        "pegs": pegs_words(pegs_of(shift)),
        "worst": [_worst_row(summary, n, units) for n in range(len(summary.worst))],
        "alerts": [_alert_row(told, shift) for told in _chosen(alerts)],
        "more_alerts": _more(len(alerts), MOST_ALERTS, "alerts"),
        "changes": [
            {
                "when": clock_text(change.utc, shift),
                "what": f"{change_words(change)} {change_value(change, units)}".strip(),
                "who": change.who or NONE,
            }
            for change in changes[:MOST_CHANGES]
        ],
        "more_changes": _more(len(changes), MOST_CHANGES, "changes"),
        "checks": _checks(summary, units),
        "rig": _rig_line(shift, units),
        "settings": band_lines(shift, units),
        "estimates": [] if options.customer else estimates,
        "estimate_words": _estimate_words(summary, units),
        "notes": [note.text_for_people() for note in notes[-MOST_NOTES:]],
        "more_notes": _more(len(notes), MOST_NOTES, "notes", "book"),
        "sure": _sure(summary, units),
        "tomorrow": () if options.customer else tomorrow_of(summary, units),
    }


def _who(shift: Shift, options: Options) -> str:
    page = shift.page
    driver = "" if options.customer or not page.driver else f"{page.driver}, "
    ended = {"ended": "", "power lost": ", ended by loss of power"}.get(page.ended, ", not ended")
    again = ", judged again against another band" if options.judged_again else ""
    return f"{driver}{span_text(shift)}{ended}{again}"


def _rig_line(shift: Shift, units: UnitSystem) -> str:
    """Whose areas these are, and the width that they were reckoned with."""
    rig = shift.page.rig
    tractor = f", tractor {rig.tractor.id}" if rig.tractor.id else ""
    return f"Rig {rig.name}{tractor}. Areas are of a tool {tool_text(rig, units)}."


def _judged(shift: Shift, units: UnitSystem) -> str:
    share = shift.sums.shares[ALL]
    words = f"Of {area_text(share.judged_m2, units)} judged"
    if shift.sums.unseen_m2 > 0:
        words += f", {area_text(shift.sums.unseen_m2, units)} of it unseen"
    if share.idle_m2 > 0:
        words += f"; {area_text(share.idle_m2, units)} more, setting in or turning, was not judged"
    return words + ". A row adds up to 100."


def _hours(by_key: dict[str, Figure]) -> list[Figure]:
    """Phases and stops that there were, and the time in the field."""
    found = [by_key["field_time"]]
    for key, figure in by_key.items():
        told = key.startswith(("time_", "stopped_")) or key == "unrecorded"
        if told and figure.text != "0 s":
            found.append(figure)
    return found


def _worst_row(summary: Summary, number: int, units: UnitSystem) -> dict[str, str]:
    stretch, shift = summary.worst[number], summary.shift
    return {
        "letter": stretch.letter,
        "what": stretch_text(stretch, units),
        "length": length_text(stretch.length_m, units),
        "area": area_text(stretch.area_m2, units),
        "when": clock_text(shift.track.utc[stretch.first], shift),
        "place": place_text(stretch.lat_deg, stretch.lon_deg),
    }


def _chosen(alerts: tuple[Told, ...]) -> list[Told]:
    """The most serious ones, in order of time."""
    levels = list(LEVEL_WORDS)
    ranked = sorted(alerts, key=lambda told: (levels.index(told.level), told.t_s))[:MOST_ALERTS]
    return sorted(ranked, key=lambda told: told.t_s)


def _alert_row(told: Told, shift: Shift) -> dict[str, str]:
    times = f" (on {told.count} channels)" if told.count > 1 else ""
    return {
        "when": clock_text(told.utc, shift),
        "what": f"{LEVEL_WORDS[told.level]}: {told.headline}. {told.action}{times}",
        "lasted": NONE if told.lasted_s is None else hours_text(told.lasted_s),
        "done": told.done,
    }


def _more(count: int, most: int, what: str, where: str = "export") -> str:
    return f"{count - most} more {what} are in the {where}." if count > most else ""


def _checks(summary: Summary, units: UnitSystem) -> list[dict[str, str]]:
    rows = []
    for check in summary.checks[-MOST_CHECKS:]:
        apart = None if check.sensor_m is None else check.sensor_m - check.dug_m
        rows.append(
            {
                "when": clock_text(check.utc, summary.shift),
                "dug": fine_depth_text(check.dug_m, units),
                "sensor": fine_depth_text(check.sensor_m, units),
                "apart": fine_depth_text(apart, units),
            }
        )
    return rows


def _estimate_words(summary: Summary, units: UnitSystem) -> str:
    estimate, soil = summary.estimate, summary.shift.soil
    if estimate is None:
        return ""
    words = [
        f"Draft by ASABE D497 at the mean speed and {fine_depth_text(estimate.depth_m, units)} "
        f"({estimate.depth_source}), soil {_soil_words(soil)}; its own range. "
        f"Fuel: {FUEL_SOURCE.text()}."
    ]
    if estimate.limited:
        words.append("The upper end is held at the tractor's rated power.")
    if estimate.from_memory:
        words.append(f"From memory, not looked up: {', '.join(estimate.from_memory)}.")
    return " ".join(words)


def _soil_words(soil: Soil | None) -> str:
    if soil is None:
        return f"not said at set-up and taken as {WORDS[ASSUMED]}"
    return f"{WORDS[soil]}, as said at set-up"


def _sure(summary: Summary, units: UnitSystem) -> str:
    shift, sums = summary.shift, summary.shift.sums
    words = [
        "Shares are of area, by the state of each second's ground; unknown outranks out, out "
        "outranks raised, raised outranks slow. ",
        _slow(shift),
        f"Fixes: {edge_text(sums, units)}. ",
    ]
    if ends := ends_text(shift):
        words.append(f"Tool in and out {ends}. ")
    if inferred_passes(shift):
        words.append(f"The area's ± holds {GUESSED_S:.0f} s of each such pass. ")
    if sums.unseen_s:
        words.append(
            f"For {hours_text(sums.unseen_s)} work may have gone on without a position: that "
            "ground is not in the area; its estimate counts as unknown in the shares. "
        )
    missing = not_judged(shift)
    if missing:
        words.append(f"Not judged: {'; '.join(missing)}. ")
    words.append(_record(shift))
    words.append(
        "Field efficiency by ASABE EP496 as used by Iowa State PM 696: road, service and long "
        f"stops left out. Record of {shift.page.shift}, program {shift.page.program}."
    )
    return "".join(words)


def _slow(shift: Shift) -> str:
    """What slow ground is known to be: speed alone cannot tell hard ground from a low gear."""
    if not shift.sums.shares["speed"].areas_m2.get("hard"):
        return ""
    known = "by speed alone: hard ground or a gear too low"
    if pulled_hard(shift):
        known = "and springs or slip stood higher there: hard ground"
    return f"Slow is under the band for longer than an alert waits, {known}. "


def _record(shift: Shift) -> str:
    """Where the shift is not one whole file: what it is made of, or what is missing."""
    files = shift.brief.files
    if files.missing:
        missing = files.missing.replace(f"{shift.brief.path.parent}/", "")
        return f"Not the whole shift: {missing}. "
    if len(files.paths) == 1:
        return ""
    names = ", ".join(path.name for path in files.paths)
    return f"A file was left and the shift went on in another; all are in here: {names}. "
