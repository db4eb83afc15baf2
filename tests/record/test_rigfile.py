"""The rig file on disk: comments kept, old ones kept, one step back, nothing half-written."""

import contextlib
import errno
import os
from dataclasses import replace
from pathlib import Path

import pytest

from cabapp.curve import Curve, CurveKind
from cabapp.record import safewrite
from cabapp.record.rigfile import ForeignRig, RigFile, same_rig
from cabapp.record.rigtext import rig_text
from cabapp.record.safewrite import FileFault, read_json, write_json, write_whole
from cabapp.rig import Port, Rig, Sensor, Shank
from cabapp.rigcheck import read_rig
from cabapp.rigfault import RigError
from cabapp.units import INCH_M, UnitSystem

CONFIG = Path(__file__).parents[2] / "config"
EXAMPLES = sorted(CONFIG.glob("rig-*.toml"))
CURVE = Curve(
    CurveKind.LINEAR,
    0.6,
    4.3,
    coefficients=(-0.2362, 0.1374),
    offset=0.0183,
    proven_error=0.0091,
    made="2026-10-14",
    by="J. Arden",
)


@pytest.fixture
def rig_file(tmp_path):
    file = RigFile(tmp_path / "rig.toml")
    write_whole(file.path, (CONFIG / "rig-us-full.toml").read_text())
    return file


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_rig_written_unchanged_is_the_same_file_to_the_letter(path):
    text = path.read_text()
    assert rig_text(read_rig(text), text) == text


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_rig_written_into_an_empty_file_reads_back_the_same(path):
    rig = read_rig(path.read_text())
    assert same_rig(read_rig(rig_text(rig)), rig)


def test_one_changed_value_changes_one_line_and_keeps_its_comment_and_unit(rig_file):
    rig = rig_file.open().rig
    before = rig_file.path.read_text().splitlines()
    rig_file.write(replace(rig, tool=replace(rig.tool, width_m=15 * 12 * INCH_M)))
    after = rig_file.path.read_text().splitlines()
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert len(changed) == 1
    _, new = changed[0]
    assert new.startswith('width = "15 ft"') and "# the ground it works in one pass" in new


def test_an_accepted_curve_lands_in_its_sensor_and_the_others_stay(rig_file):
    rig = rig_file.open().rig
    sensors = tuple(replace(s, curve=CURVE) if s.channel == "depth2" else s for s in rig.sensors)
    rig_file.write(replace(rig, sensors=sensors))
    again = rig_file.open().rig
    assert again.sensor("depth2").curve == CURVE
    assert again.sensor("depth1") == rig.sensor("depth1")
    assert "# metres: the largest miss of the accepted calibration" in rig_file.path.read_text()


def test_sensors_ports_and_shanks_come_and_go(rig_file):
    rig = rig_file.open().rig
    fewer = tuple(s for s in rig.sensors if s.channel != "depth1")
    added = Sensor("radar_speed", "RADARSPEED", "radar", serial="R-1", trusted=True)
    rig = replace(
        rig,
        sensors=(*fewer, added, Sensor("depth9", "D9", "node", "V", curve=CURVE)),
        ports=(*rig.ports, Port("radar", role="node", baud=4800)),
        tool=replace(rig.tool, shanks=(*rig.tool.shanks, Shank(8, 2.6, 5.2))),
    )
    rig_file.write(rig)
    again = rig_file.open().rig
    assert same_rig(again, rig)
    rig_file.write(replace(rig, sensors=(), tool=replace(rig.tool, shanks=())))
    assert rig_file.open().rig.sensors == ()


def test_a_value_taken_back_leaves_the_file(rig_file):
    rig = rig_file.open().rig
    bare = replace(
        rig,
        tractor=replace(rig.tractor, rated_pto_w=None),
        sensors=tuple(replace(s, curve=None, trip_n=None, cable=None) for s in rig.sensors),
    )
    rig_file.write(bare)
    assert rig_file.open().rig == bare
    text = rig_file.path.read_text()
    assert "rated_pto" not in text and "[sensor.curve]" not in text and "trip =" not in text


def test_a_metric_rig_writes_metric_units(tmp_path):
    file = RigFile(tmp_path / "rig.toml")
    file.write(Rig(id="r1", units=UnitSystem.METRIC, tool=replace(Rig().tool, width_m=4.5)))
    assert 'width = "4.5 m"' in file.path.read_text()


@pytest.mark.parametrize("across_m", [5.5e-17, -1e-6, 0.1 + 0.2, 1 / 3, -2.286])
def test_a_length_that_arithmetic_left_odd_is_still_written_plainly(tmp_path, across_m):
    rig = replace(Rig(id="r1"), tool=replace(Rig().tool, shanks=(Shank(1, across_m, 5.0),)))
    file = RigFile(tmp_path / "rig.toml")
    file.write(rig)
    assert file.open().rig.tool.shanks[0].across_m == pytest.approx(across_m, abs=1e-9)
    assert "e-" not in file.path.read_text()


def test_an_empty_tablet_opens_an_empty_rig_and_its_first_write_makes_the_file(tmp_path):
    file = RigFile(tmp_path / "new" / "rig.toml")
    opened = file.open()
    assert opened.rig == Rig() and opened.refused is None
    file.write(replace(opened.rig, id="rig-09", name="New one"))
    assert file.open().rig.id == "rig-09"
    assert file.kept() == ()


def test_each_write_keeps_the_file_before_it_numbered(rig_file):
    rig = rig_file.open().rig
    first = rig_file.path.read_text()
    for name in ("Two", "Three", "Four"):
        rig_file.write(replace(rig, name=name))
    assert [path.name for path in rig_file.kept()] == [
        "rig-0001.toml",
        "rig-0002.toml",
        "rig-0003.toml",
    ]
    assert rig_file.kept()[0].read_text() == first


def test_undo_steps_back_once_and_once_more_forward(rig_file):
    rig = rig_file.open().rig
    rig_file.write(replace(rig, name="Changed"))
    assert rig_file.undo().name == rig.name
    assert rig_file.open().rig.name == rig.name
    assert rig_file.undo().name == "Changed"
    assert rig_file.open().rig.name == "Changed"


def test_undo_with_nothing_kept_says_none(tmp_path):
    assert RigFile(tmp_path / "rig.toml").undo() is None


def test_a_broken_file_is_named_with_its_faults_and_the_last_good_one_works_on(rig_file):
    rig = rig_file.open().rig
    rig_file.write(replace(rig, name="Good"))
    rig_file.path.write_text(
        'version = 1\nid = "rig-07"\n[tool]\nwidth = "17 furlongs"\nwidht = 3\n'
    )
    opened = rig_file.open()
    assert opened.rig.name == rig.name
    assert "rig-kept" in opened.source
    assert opened.refused is not None
    keys = {fault.key for fault in opened.refused.faults}
    assert {"tool.width", "tool.widht"} <= keys


@pytest.mark.parametrize("rubbish", [b"", b"\xff\xfe\x00broken", b"[tool\nwidth=", b"\x00" * 4096])
def test_a_torn_file_never_stops_the_tablet(rig_file, rubbish):
    rig = rig_file.open().rig
    rig_file.write(replace(rig, name="Good"))
    rig_file.path.write_bytes(rubbish)
    opened = rig_file.open()
    assert opened.refused is not None and opened.rig.id == "rig-07"


def test_writing_over_a_broken_file_keeps_what_was_typed(rig_file):
    rig = rig_file.open().rig
    rig_file.write(replace(rig, name="Good"))
    rig_file.path.write_text("half a th")
    rig_file.write(replace(rig, name="Mended"))
    assert rig_file.kept()[-1].read_text() == "half a th"
    assert rig_file.open().refused is None
    assert "# the ground it works in one pass" in rig_file.path.read_text()


def test_a_rig_with_faults_is_not_written(rig_file):
    rig = rig_file.open().rig
    before = rig_file.path.read_text()
    wrong = replace(rig, limits=replace(rig.limits, speed_low_mps=3.2, speed_high_mps=2.0))
    with pytest.raises(RigError, match="speed_low"):
        rig_file.write(wrong)
    assert rig_file.path.read_text() == before and rig_file.kept() == ()


def test_a_spare_tablet_is_restored_byte_for_byte(rig_file, tmp_path):
    spare = RigFile(tmp_path / "spare" / "rig.toml")
    assert spare.restore(rig_file.path).id == "rig-07"
    assert spare.path.read_bytes() == rig_file.path.read_bytes()


def test_a_file_of_another_machine_is_refused_unless_confirmed(rig_file):
    other = CONFIG / "rig-metric-receiver.toml"
    with pytest.raises(ForeignRig, match=r"found rig rig-02 .* expected rig-07"):
        rig_file.restore(other)
    assert rig_file.open().rig.id == "rig-07"
    assert rig_file.restore(other, another_machine=True).id == "rig-02"
    assert rig_file.undo().id == "rig-07"


def test_a_broken_copy_is_refused_with_its_faults_and_the_present_one_stays(rig_file, tmp_path):
    stick = tmp_path / "stick.toml"
    stick.write_text('version = 1\nid = "rig-07"\nunits = "leagues"\n')
    before = rig_file.path.read_text()
    with pytest.raises(RigError, match="units"):
        rig_file.restore(stick)
    with pytest.raises(FileFault, match="no such file"):
        rig_file.restore(tmp_path / "missing.toml")
    assert rig_file.path.read_text() == before


def test_a_full_disk_leaves_the_old_file_and_says_so(rig_file, monkeypatch):
    rig = rig_file.open().rig
    before = rig_file.path.read_text()

    def full(handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(safewrite.os, "fsync", full)
    with pytest.raises(FileFault, match="No space left"):
        rig_file.write(replace(rig, name="Lost"))
    monkeypatch.undo()
    assert rig_file.path.read_text() == before
    assert not list(rig_file.path.parent.rglob(".*.new"))


def test_a_power_cut_at_any_step_leaves_the_old_text_or_the_new(tmp_path, monkeypatch):
    """Cut before each call that touches the disk: what lies there is one of the two."""

    class PowerCut(BaseException):
        pass

    path = tmp_path / "file.txt"
    calls = 0
    for cut_at in range(1, 6):
        write_whole(path, "old")
        calls = 0

        def dying(real, cut_at=cut_at):
            def call(*args, **kwargs):
                nonlocal calls
                calls += 1
                if calls == cut_at:
                    raise PowerCut
                return real(*args, **kwargs)

            return call

        with monkeypatch.context() as patched:
            for name in ("fsync", "replace", "open", "close"):
                patched.setattr(safewrite.os, name, dying(getattr(os, name)))
            with contextlib.suppress(PowerCut):
                write_whole(path, "new")
        assert path.read_text() in ("old", "new")


def test_kept_values_come_back_and_a_foreign_one_is_refused(tmp_path):
    path = tmp_path / "kept.json"
    assert read_json(path) is None
    write_json(path, {"steps": [1, 2.5, None, "a"]})
    assert read_json(path) == {"steps": [1, 2.5, None, "a"]}
    path.write_text("[1, 2")
    with pytest.raises(FileFault, match="expected JSON"):
        read_json(path)
    path.write_text("[1, 2]")
    with pytest.raises(FileFault, match="expected a table"):
        read_json(path)


def test_a_write_that_is_stopped_leaves_the_old_file_and_nothing_beside_it(tmp_path, monkeypatch):
    def stopped(handle):
        raise KeyboardInterrupt

    path = tmp_path / "page.html"
    write_whole(path, "old")
    monkeypatch.setattr(safewrite.os, "fsync", stopped)
    with pytest.raises(KeyboardInterrupt):
        write_whole(path, "new")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]
