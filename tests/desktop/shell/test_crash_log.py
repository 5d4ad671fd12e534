from __future__ import annotations

import sys
from pathlib import Path

import pytest

from desktop.shell.crash_log import CrashLog, CrashReporter
from tests.desktop.kit import RecordingMessages


def fail_into(keeper: CrashReporter, words: str = "the lamp went out") -> None:
    try:
        {}[words]
    except KeyError as error:
        keeper(type(error), error, error.__traceback__)


def test_what_no_one_caught_is_kept_and_told_in_one_sentence(
    tmp_path: Path, messages: RecordingMessages
) -> None:
    log = CrashLog(tmp_path / "new" / "faults.log")
    fail_into(CrashReporter(log, messages.tell))
    kept = log.path.read_text(encoding="utf-8")
    assert "the lamp went out" in kept
    assert "Traceback" in kept
    assert len(messages.told) == 1
    assert "safe" in messages.told[0].sentence
    assert str(log.path) in messages.told[0].remedy
    if sys.platform != "win32":  # rights are told otherwise there
        modes = [one.stat().st_mode & 0o777 for one in (log.path.parent, log.path)]
        assert modes == [0o700, 0o600]


def test_a_log_that_cannot_be_written_does_not_make_it_worse(
    tmp_path: Path, messages: RecordingMessages
) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder")
    fail_into(CrashReporter(CrashLog(in_the_way / "faults.log"), messages.tell))
    assert len(messages.told) == 1
    assert "faults.log" not in messages.told[0].remedy


def test_a_fault_in_the_telling_does_not_go_round_in_circles(tmp_path: Path) -> None:
    log = CrashLog(tmp_path / "faults.log")
    calls = []

    def tell(_title: str, _sentence: str, _remedy: str) -> None:
        calls.append(1)
        fail_into(keeper, "the channel is broken too")

    keeper = CrashReporter(log, tell)
    fail_into(keeper)
    assert len(calls) == 1
    assert "the channel is broken too" in log.path.read_text(encoding="utf-8")


def test_a_log_that_grew_large_is_set_aside(tmp_path: Path) -> None:
    log = CrashLog(tmp_path / "faults.log")
    log.path.write_text("x" * 1_000_001)
    log.note("new")
    assert log.path.stat().st_size < 100
    assert (tmp_path / "faults.old").stat().st_size == 1_000_001


def test_a_wish_to_stop_is_no_fault(
    tmp_path: Path, messages: RecordingMessages, monkeypatch: pytest.MonkeyPatch
) -> None:
    passed: list[object] = []
    monkeypatch.setattr(sys, "__excepthook__", lambda *given: passed.append(given))
    CrashReporter(CrashLog(tmp_path / "faults.log"), messages.tell)(
        KeyboardInterrupt, KeyboardInterrupt(), None
    )
    assert passed
    assert not messages.told
