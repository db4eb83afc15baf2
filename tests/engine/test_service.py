"""The last resort, the bounded log, and the words to the service manager."""

import logging
import logging.handlers
import queue
import socket
from pathlib import Path

import pytest

from cabapp.engine.service import (
    LOG_BYTES,
    LOG_FILES,
    BoundedQueueHandler,
    Guarded,
    notify,
    start_log,
)


@pytest.fixture
def root_logger() -> logging.Logger:
    root = logging.getLogger()
    before, level = root.handlers, root.level
    yield root
    root.handlers, root.level = before, level


def test_a_step_that_raises_is_counted_and_the_next_one_runs() -> None:
    guard, done = Guarded("test"), []
    assert not guard.run(lambda: 1 / 0)
    assert guard.run(lambda: done.append(1))
    assert (guard.faults, done) == (1, [1])


def test_a_fault_at_every_step_does_not_fill_the_log(caplog: pytest.LogCaptureFixture) -> None:
    guard = Guarded("test")
    for _ in range(1000):
        guard.run(lambda: 1 / 0)
    assert len(caplog.records) == 10  # the 1st, 2nd, 4th ... 512th


def test_nothing_but_a_fault_is_held_back() -> None:
    def leave() -> None:
        raise SystemExit

    with pytest.raises(SystemExit):
        Guarded("test").run(leave)


def test_a_full_log_queue_lets_go_and_never_blocks() -> None:
    waiting: queue.Queue[logging.LogRecord] = queue.Queue(2)
    handler = BoundedQueueHandler(waiting)
    for number in range(5):
        handler.handle(logging.LogRecord("t", logging.INFO, "", 0, str(number), None, None))
    assert [waiting.get().getMessage() for _ in range(2)] == ["0", "1"]
    assert waiting.empty()


def test_log_files_stay_bounded(tmp_path: Path, root_logger: logging.Logger) -> None:
    listener = start_log(tmp_path, "engine")
    for number in range(3 * LOG_FILES):
        root_logger.info("%d %s", number, "x" * (LOG_BYTES // 2))
    listener.stop()
    files = list(tmp_path.glob("engine.log*"))
    assert len(files) == LOG_FILES + 1
    assert sum(file.stat().st_size for file in files) <= (LOG_FILES + 1) * LOG_BYTES * 1.01
    newest = (tmp_path / "engine.log").read_text()
    assert f" {3 * LOG_FILES - 1} x" in newest


@pytest.mark.parametrize("abstract", [False, True], ids=["a path", "an abstract name"])
def test_the_service_manager_hears_the_word(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, abstract: bool
) -> None:
    """sd_notify(3): one datagram to $NOTIFY_SOCKET, where "@" stands for the leading null byte."""
    name = f"@{tmp_path}/n" if abstract else str(tmp_path / "n")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(name.replace("@", "\0", 1))
        monkeypatch.setenv("NOTIFY_SOCKET", name)
        notify("WATCHDOG=1")
        assert manager.recv(100) == b"WATCHDOG=1"


def test_without_a_service_manager_nothing_happens(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("NOTIFY_SOCKET", raising=False)
    notify("READY=1")
    monkeypatch.setenv("NOTIFY_SOCKET", str(tmp_path / "nobody"))
    notify("READY=1")
