"""What the kiosk's files say, read as files: the whole proof is config/kiosk/prove.sh."""

import configparser
import os
import re
import shlex
import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
KIOSK = ROOT / "config" / "kiosk"
SCRIPTS = ("install.sh", "prove.sh", "stick-in", "wait-for-x", "x-session")


class Unit(configparser.RawConfigParser):
    """A unit file: keys keep their letters, and the last of a repeated key counts."""

    def __init__(self, name: str) -> None:
        super().__init__(strict=False, interpolation=None)
        self.optionxform = str  # type: ignore[assignment]
        self.text = (KIOSK / name).read_text(encoding="utf-8")
        self.read_string(self.text)


@pytest.fixture
def app() -> Unit:
    return Unit("cabapp.service")


@pytest.fixture
def x() -> Unit:
    return Unit("cabapp-x.service")


@pytest.mark.parametrize("name", SCRIPTS)
def test_a_script_can_be_read_by_its_shell_and_run(name: str):
    path = KIOSK / name
    shell = path.read_text().splitlines()[0].removeprefix("#!")
    assert os.access(path, os.X_OK)
    assert subprocess.run([shell, "-n", str(path)], capture_output=True).returncode == 0


def test_a_crash_of_the_app_does_not_restart_x_nor_one_of_x_the_app(app: Unit, x: Unit):
    for unit in (app, x):
        words = set(unit["Unit"]) & {"Requires", "BindsTo", "PartOf", "Conflicts"}
        assert not words
    assert app["Unit"]["Wants"] == "cabapp-x.service"


def test_both_units_come_back_for_ever(app: Unit, x: Unit):
    for unit in (app, x):
        assert unit["Service"]["Restart"] == "always"
        assert unit["Unit"]["StartLimitIntervalSec"] == "0"
        assert unit["Install"]["WantedBy"] == "multi-user.target"


def test_the_app_is_watched_and_its_memory_bounded(app: Unit):
    service = app["Service"]
    assert service["Type"] == "notify"
    assert 10 <= int(service["WatchdogSec"]) <= 30
    assert service["MemoryMax"].endswith("M") and int(service["MemoryMax"][:-1]) >= 2 * 280


def test_app_and_screen_come_before_any_other_work_of_the_tablet(app: Unit, x: Unit):
    usual = 100  # of every other unit (systemd.resource-control(5))
    assert int(app["Service"]["CPUWeight"]) == int(x["Service"]["CPUWeight"]) >= 10 * usual


def test_the_app_can_open_no_network_socket_and_gains_no_rights(app: Unit):
    service = app["Service"]
    families = service["RestrictAddressFamilies"].split()
    assert set(families) == {"AF_UNIX", "AF_NETLINK"}
    assert service["NoNewPrivileges"] == "yes" and service["CapabilityBoundingSet"] == ""
    assert service["User"] == "cab" and service["ProtectSystem"] == "strict"


def test_the_app_may_write_where_it_keeps_its_state_and_to_sticks_only(app: Unit):
    places = {place.lstrip("-") for place in app["Service"]["ReadWritePaths"].split()}
    assert places == {"/var/lib/cabapp", "/media", "/mnt", "/run/media"}
    assert "Environment=CABAPP_STATE=/var/lib/cabapp" in app.text


def test_no_option_of_the_app_takes_the_serial_ports_away(app: Unit):
    # Each of these narrows the device list (systemd.exec(5)), and with it the serial adapters.
    narrow = {"PrivateDevices", "DevicePolicy", "DeviceAllow", "ProtectClock"}
    assert not narrow & set(app["Service"])
    assert "dialout" in app["Service"]["SupplementaryGroups"].split()


def test_x_listens_on_no_port_and_gives_no_way_to_a_console(x: Unit):
    words = shlex.split(x["Service"]["ExecStart"])
    assert words[words.index("-nolisten") + 1] == "tcp"
    conf = (KIOSK / "10-cabapp-screen.conf").read_text()
    assert '"DontVTSwitch" "true"' in conf and '"DontZap" "true"' in conf
    assert '"BlankTime" "0"' in conf


def test_serial_adapters_are_kept_from_the_modem_manager_and_get_no_kernel_name():
    rules = [
        line
        for line in (KIOSK / "70-cabapp-serial.rules").read_text().splitlines()
        if line and not line.startswith("#")
    ]
    tty = next(line for line in rules if 'SUBSYSTEM=="tty"' in line)
    assert 'ENV{ID_MM_DEVICE_IGNORE}="1"' in tty and 'GROUP="dialout"' in tty
    part = re.compile(r'[A-Z_]+(\{[^}]+\})?(==|!=|=|\+=|:=)"[^"]*"')
    for line in rules:
        assert all(part.fullmatch(word) for word in line.split(", ")), line
    assert rules[-1].startswith("LABEL=") and not any("ttyUSB" in line for line in rules)


def test_a_stick_is_mounted_so_that_nothing_on_it_runs():
    script = (KIOSK / "stick-in").read_text()
    assert "nosuid,nodev,noexec" in script


def test_every_runtime_dependency_is_locked_with_its_hash():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wanted = {re.split(r"[<>=!~ ]", one)[0] for one in project["project"]["dependencies"]}
    text = (KIOSK / "requirements.txt").read_text(encoding="utf-8")
    blocks = re.findall(r"^([A-Za-z0-9_.-]+)==\S+ \\\n((?:    --hash=.*\n)+)", text, re.MULTILINE)
    locked = {name.lower() for name, _ in blocks}
    named = {line.split("==")[0].lower() for line in text.splitlines() if re.match(r"\w", line)}
    assert wanted <= locked
    assert named == locked
    assert all(hash_.count("--hash=sha256:") >= 1 for _, hash_ in blocks)


def test_everything_the_app_asks_of_a_package_is_what_the_installer_places():
    installer = (KIOSK / "install.sh").read_text()
    placed = set(re.findall(r'place "\$HERE/([^"]+)"', installer))
    here = {path.name for path in KIOSK.iterdir() if path.is_file()}
    assert placed == here - {"install.sh", "prove.sh", "requirements.txt"}


def dry_run(*more: str) -> list[str]:
    done = subprocess.run(
        ["bash", str(KIOSK / "install.sh"), "--dry-run", *more],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return done.stdout.splitlines()


def test_a_dry_run_says_the_same_twice_and_does_nothing():
    there = Path("/opt/cabapp").exists()
    # The twelve digits name the version: a clone that is being worked on may change between.
    first, second = ([re.sub(r"\b[0-9a-f]{12}\b", "VERSION", x) for x in dry_run()] for _ in "ab")
    assert first == second and len(first) > 10
    assert Path("/opt/cabapp").exists() == there


def test_an_upgrade_and_an_uninstall_leave_rig_book_and_runs():
    for line in dry_run() + dry_run("--uninstall"):
        words = line.removeprefix("+ ").split()
        if line.startswith("+ ") and words[0] in ("rm", "mv", "ln", "cp"):
            assert "/var/lib/cabapp" not in line, line


def test_an_unknown_word_is_refused_before_anything_is_done():
    done = subprocess.run(
        ["bash", str(KIOSK / "install.sh"), "--remove"], capture_output=True, text=True
    )
    assert done.returncode == 1 and "--remove" in done.stderr and not done.stdout
