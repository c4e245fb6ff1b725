"""Reading and reviewing in the background: told in the window's thread, given up at any moment."""

import threading
from pathlib import Path

import pytest
from PySide6.QtCore import QThread
from pytestqt.qtbot import QtBot

from desktop.window import opening
from desktop.window.opening import Opener, Ready, Wanted, dropped_paths, load


@pytest.fixture
def opener(qtbot: QtBot):
    opener = Opener()
    yield opener
    opener.close()
    assert not opener.busy


class Gate:
    """Holds a load until it is let through."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.reached, self.open = threading.Event(), threading.Event()
        monkeypatch.setattr(opening, "load", self)

    def __call__(self, wanted, progress):
        self.reached.set()
        assert self.open.wait(20)
        return load(wanted, progress)


def test_a_review_with_its_trends_arrives_in_the_windows_thread(opener: Opener, overload: Path, qtbot: QtBot):
    threads = []
    opener.ready.connect(lambda _: threads.append(QThread.currentThread()))
    shares: list[float] = []
    opener.progressed.connect(lambda _, share: shares.append(share))
    with qtbot.waitSignal(opener.ready, timeout=30_000) as told:
        opener.open(Wanted((overload,)))
    ready = told.args[0]
    assert isinstance(ready, Ready)
    assert len(ready.review.findings) == 3
    assert ready.store.source is ready.trends
    assert threads == [opener.thread()]
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)


def test_a_fault_is_told_as_its_one_line(opener: Opener, tmp_path: Path, qtbot: QtBot):
    (tmp_path / "words.csv").write_text("a,b\nc,d\n")
    with qtbot.waitSignal(opener.failed, timeout=30_000) as told:
        opener.open(Wanted((tmp_path / "words.csv",)))
    assert "words.csv" in told.args[0]
    assert "\n" not in told.args[0]


def test_a_fault_of_our_own_is_told_too_and_logged(
    opener: Opener, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
):
    def broken(wanted, progress):
        raise ZeroDivisionError("by hand")

    monkeypatch.setattr(opening, "load", broken)
    with qtbot.waitSignal(opener.failed, timeout=30_000) as told:
        opener.open(Wanted((Path("a.csv"),)))
    assert told.args[0].startswith("a.csv can't be shown")
    assert "ZeroDivisionError: by hand" in caplog.text


def test_nothing_is_told_of_what_was_given_up(
    opener: Opener, overload: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
):
    gate = Gate(monkeypatch)
    opener.open(Wanted((overload,)))
    assert gate.reached.wait(20)
    opener.stop()
    with qtbot.assertNotEmitted(opener.ready), qtbot.assertNotEmitted(opener.failed):
        gate.open.set()
        qtbot.waitUntil(lambda: not opener.busy, timeout=20_000)
        qtbot.wait(20)


def test_only_what_was_asked_for_last_arrives(
    opener: Opener, overload: Path, tmp_path: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
):
    gate = Gate(monkeypatch)
    told = []
    opener.failed.connect(told.append)
    opener.open(Wanted((tmp_path / "none.csv",)))
    assert gate.reached.wait(20)
    with qtbot.waitSignal(opener.ready, timeout=30_000):
        opener.open(Wanted((overload,)))
        gate.open.set()
    qtbot.waitUntil(lambda: not opener.busy, timeout=20_000)
    assert told == []


def test_closing_waits_for_the_thread(overload: Path, qtbot: QtBot):
    opener = Opener()
    opener.open(Wanted((overload,)))
    opener.close()
    assert not [each for each in threading.enumerate() if each.name == "opening"]


def test_files_dropped_together_are_told_apart():
    paths, sheet = dropped_paths(["/x/a.csv", "/x/Site.TOML", "", "/x/b.csv"])
    assert paths == [Path("/x/a.csv"), Path("/x/b.csv")]
    assert sheet == Path("/x/Site.TOML")
    assert dropped_paths(["a.csv"])[1] is None
