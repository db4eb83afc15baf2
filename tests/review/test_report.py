"""The report: one page, no script, figures as everywhere, hostile words harmless."""

import json
import re
import time
from pathlib import Path

import pytest

from cabapp.cli import main
from cabapp.outcome import Moment, What
from cabapp.plan import Plan
from cabapp.record.book import Book, Kind
from cabapp.review.again import Bands, judged_again
from cabapp.review.apart import Making
from cabapp.review.export import export_shift
from cabapp.review.figures import figures
from cabapp.review.notes import add_note, notes_of
from cabapp.review.pegs import pegs_of
from cabapp.review.report import Options, report_html, season_html
from cabapp.review.season import season_of
from cabapp.review.shift import load_brief, load_shift
from cabapp.review.summary import Summary, summarize
from cabapp.units import UnitSystem
from tests.cab.drive import full_rig
from tests.review.runs import hand_made, row, two_passes


def summary() -> Summary:
    return summarize(load_shift(two_passes()))


def words_of(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace("&lt;", "<")


def test_the_report_needs_nothing_but_itself() -> None:
    html = report_html(summary(), Options(UnitSystem.US))
    assert "<script" not in html
    assert not re.search(r'(src|href)="(?!#)', html)
    assert "url(http" not in html


def test_each_picture_says_in_words_what_it_shows() -> None:
    html = report_html(summary(), Options(UnitSystem.US))
    pictures = re.findall(r"<svg .*?</svg>", html, re.S)
    assert len(pictures) == 5
    for picture in pictures:
        assert re.search(r'role="img" aria-label="[^"]{20,}"', picture)
        assert "<title>" in picture and "<desc>" in picture


def test_states_are_told_by_pattern_and_not_by_colour_alone() -> None:
    html = report_html(summary(), Options(UnitSystem.US))
    for state in ("out", "raised", "hard", "unknown"):
        assert f'fill="url(#key-to-the-patterns-{state})"' in html
        assert f'<pattern id="key-to-the-patterns-{state}"' in html


def test_slow_ground_is_called_slow_and_hard_is_no_more_than_a_guess(tmp_path: Path) -> None:
    rows = [row(n, "hard" if n < 40 else "in", speed_mps=1.9) for n in range(200)]
    run = hand_made("slow-ground.gpkg", rows)
    found = summarize(load_shift(run))
    text = words_of(report_html(found, Options(UnitSystem.US)))
    assert "band 4.9 to 6.9 mph, slow" in text and "raised outranks slow" in text
    assert text.count("by speed alone: hard ground or a gear too low") == 2  # tomorrow, how sure
    assert "hard" not in text.replace("hard ground or a gear too low", "")
    assert "hard" not in " ".join(figure.words for figure in figures(found, UnitSystem.US))
    (tmp_path / run.name).write_bytes(run.read_bytes())
    season = words_of(season_html(season_of(tmp_path), UnitSystem.US))
    assert "slow" in season and "hard" not in season


def test_where_the_springs_stood_higher_the_report_says_that_slow_was_hard_ground() -> None:
    rows = [
        row(n, "hard" if n < 40 else "in", speed_mps=1.9 if n < 40 else 2.5) for n in range(200)
    ]
    for n, one in enumerate(rows):
        one.values["spring1_ratio_most"] = 0.8 if n < 40 else 0.5
    found = summarize(load_shift(hand_made("pulled.gpkg", rows, rig=full_rig())))
    text = words_of(report_html(found, Options(UnitSystem.US)))
    assert "springs or slip stood higher there: hard ground." in text
    assert "gear too low" not in text


def test_a_shift_that_was_never_slow_is_not_told_what_slow_means() -> None:
    found = summarize(load_shift(hand_made("swift.gpkg", [row(n) for n in range(60)])))
    text = words_of(report_html(found, Options(UnitSystem.US)))
    assert "ac in 1 pass, north up" in text
    assert "by speed alone" not in text and "nothing was out, slow, raised" in text


def test_report_and_figures_csv_print_the_same_digits(tmp_path: Path) -> None:
    found = summary()
    for units in UnitSystem:
        text = words_of(report_html(found, Options(units)))
        export_shift(found, tmp_path / units.value, units)
        table = (tmp_path / units.value / "two-passes-figures.csv").read_text()
        for figure in figures(found, units):
            assert figure.text in table
            if figure.key in ("area_gross", "area_net", "rate", "efficiency", "in_band", "trips"):
                assert figure.text in text, figure.key


def test_the_customer_s_version_leaves_out_alerts_changes_and_the_driver() -> None:
    rows = [row(n) for n in range(60)]
    plan = Plan(field="North field", driver="K. Tarn", speed_low_mps=2.2, speed_high_mps=3.1)
    path = hand_made("named.gpkg", rows, plan=plan)
    found = summarize(load_shift(path))
    assert "K. Tarn" in report_html(found, Options(UnitSystem.US))
    customer = report_html(found, Options(UnitSystem.US, customer=True))
    assert "K. Tarn" not in customer
    assert "Alerts" not in customer
    assert "North field" in customer


def test_a_changed_plan_is_told_with_time_band_target_and_who_drove() -> None:
    def bands(n: int) -> dict[str, float]:
        faster, deeper = 0.447 * (n >= 20), 0.0127 * (n >= 40)
        return {"speed_low_mps": 2.2352 + faster, "speed_high_mps": 3.1292 + faster,
                "depth_low_m": 0.3302 + deeper, "depth_high_m": 0.381 + deeper}  # fmt: skip

    rows = [row(n, **bands(n)) for n in range(60)]
    taps = ((10, "driver", "K. Tarn"), (19, "speed_target", 2.0), (39, "depth_target", 1.0))
    moments = [Moment(rows[n].utc, n + 0.4, What.TAP, value=value, detail=detail)
               for n, detail, value in taps]  # fmt: skip
    moments.append(Moment(rows[50].utc, 50.4, What.PLAN, value=0.3683, detail="set up"))
    found = summarize(load_shift(hand_made("changed.gpkg", rows, moments, rig=full_rig())))
    text = words_of(report_html(found, Options(UnitSystem.US)))
    assert re.search(r"13:00 speed band moved up, band 6.0 to 8.0 mph +K. Tarn", text)
    assert re.search(r"depth target moved up, target 14 1/2 in, band 13 1/2 in to 15 1/2 in", text)
    assert "plan from set-up speed 6.0 to 8.0 mph, target 14 1/2 in, band 13 1/2 in to" in text


def test_a_peg_is_on_the_map_and_its_last_kind_is_told_under_it() -> None:
    rows = [row(n) for n in range(60)]
    set_at = {"lat_deg": rows[30].lat_deg, "lon_deg": rows[30].lon_deg}
    moments = [Moment(rows[30].utc, 30.0, What.PEG, value=7.0, detail="other", **set_at),
               Moment(rows[34].utc, 34.0, What.PEG, value=7.0, detail="stone",
                      lat_deg=rows[34].lat_deg, lon_deg=5.0)]  # fmt: skip
    found = summarize(load_shift(hand_made("pegged.gpkg", rows, moments)))
    (peg,) = pegs_of(found.shift)
    assert (peg.x_m, peg.y_m) == pytest.approx(
        (found.shift.track.x_m[30], found.shift.track.y_m[30]), abs=0.2
    ), "where it was set, not where its kind was said"
    assert words_of(report_html(found, Options(UnitSystem.US))).count("Pegs: 7 stone.") == 2


def test_words_from_a_file_are_words_and_never_markup() -> None:
    name = '<img src=x onerror="alert(1)"><script>alert(2)</script>'
    path = hand_made("markup.gpkg", [row(n) for n in range(20)], plan=Plan(field=name))
    html = report_html(summarize(load_shift(path)), Options(UnitSystem.METRIC))
    assert "<script" not in html and "<img" not in html


def test_a_shift_without_any_work_still_makes_a_report() -> None:
    path = hand_made("stood.gpkg", [row(n, "idle", "standing") for n in range(20)])
    text = words_of(report_html(summarize(load_shift(path)), Options(UnitSystem.US)))
    assert "nothing was judged" in text
    assert "nan" not in text.lower().replace("finance", "")


def test_notes_and_corrections_stand_with_name_and_date(tmp_path: Path) -> None:
    brief, book = load_brief(two_passes()), tmp_path / "book.gpkg"
    number = add_note(brief, book, "Shank 3 has a new point", "K. Tarn", "2026-05-22T06:00:00Z")
    add_note(brief, book, "Shank 2 has a new point", "T. Vane", "2026-05-23T06:00:00Z", number)
    (note,) = notes_of(brief, book)
    html = report_html(summary(), Options(UnitSystem.US), (note,))
    assert "Shank 2 has a new point (T. Vane, 2026-05-23, corrected)" in html
    opened = Book(book)
    assert [line.who for line in opened.history(number)] == ["K. Tarn", "T. Vane"]
    assert opened.entries(Kind.NOTE)[0].number == number
    opened.close()


def test_a_report_is_made_apart_and_tells_how_far_it_is(tmp_path: Path) -> None:
    making = Making(two_passes(), tmp_path / "apart.html", "metric", False)
    seen = set()
    until = time.monotonic() + 30
    while making.going and time.monotonic() < until:
        making.step()
        seen.add(making.share)
        time.sleep(0.02)
    assert making.path == tmp_path / "apart.html", making.fault
    assert max(seen) == 1.0
    assert "<!DOCTYPE html>" in making.path.read_text()


def test_a_report_made_apart_says_what_is_wrong_in_one_sentence(tmp_path: Path) -> None:
    making = Making(tmp_path / "none.gpkg", tmp_path / "x.html", "us", False)
    until = time.monotonic() + 30
    while making.going and time.monotonic() < until:
        making.step()
        time.sleep(0.02)
    assert "there is no such file" in making.fault


def test_the_commands_write_where_they_are_told(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    page = tmp_path / "page.html"
    assert main(["report", str(two_passes()), "--out", str(page), "--units", "metric"]) == 0
    assert "ha/h" in page.read_text()
    assert main(["export", str(two_passes()), "--out", str(tmp_path)]) == 0
    passes = json.loads((tmp_path / "two-passes-passes.geojson").read_text())
    assert passes["type"] == "FeatureCollection"
    assert str(page) in capsys.readouterr().out


def test_the_command_judges_again_and_says_so_on_the_page(tmp_path: Path) -> None:
    page = tmp_path / "again.html"
    words = ["report", str(two_passes()), "--speed", "6.5 mph", "8 mph", "--out", str(page)]
    assert main(words) == 0
    assert "judged again" in page.read_text()
    assert "0 % of the area in band" in page.read_text()


def test_depth_is_judged_again_in_the_unit_that_was_typed(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    page, run = tmp_path / "deeper.html", str(two_passes())
    assert main(["report", run, "--depth", "40 cm", "19 1/2 in", "--out", str(page)]) == 0
    shares = judged_again(load_shift(two_passes()), Bands(depth_m=(0.40, 19.5 * 0.0254))).sums
    assert shares.shares["depth"].percents()["out"] > 50
    assert "band 15 3/4 to 19 1/2 in" in words_of(page.read_text())
    with pytest.raises(SystemExit, match="2"):
        main(["report", run, "--depth", "40", "45"])
    said = capsys.readouterr().err
    assert "argument --depth" in said and "no unit" in said


def test_the_command_adds_a_note_only_with_a_name(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    run = tmp_path / "runs" / "shift-0001.gpkg"
    run.parent.mkdir()
    run.write_bytes(two_passes().read_bytes())
    assert main(["report", str(run), "--note", "New points"]) == 2
    assert "--by" in capsys.readouterr().err
    assert main(["report", str(run), "--note", "New points", "--by", "K. Tarn"]) == 0
    assert "New points (K. Tarn," in run.with_name("shift-0001-report.html").read_text()


def test_a_season_is_a_page_too(tmp_path: Path) -> None:
    run = tmp_path / "shift-0001.gpkg"
    run.write_bytes(two_passes().read_bytes())
    page = tmp_path / "season.html"
    assert main(["season", str(tmp_path), "--out", str(page)]) == 0
    text = page.read_text()
    assert "1.06 ac" in text and "<script" not in text
