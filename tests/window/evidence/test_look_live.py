"""What is looked into while it grows: pages follow, nothing waits for the long work."""

import threading

import numpy as np
import pytest
from PySide6.QtWidgets import QLabel

from desktop.opening import open_recording
from desktop.review import review
from desktop.review.growing import GrowingReview
from desktop.window.evidence import beforehand
from desktop.window.opening import prepared
from recordings.recording import Recording

SECOND = 1_000_000_000


@pytest.fixture
def growing(demo):
    """The first third of the demo as a review that grows, and what is still to come."""
    whole = demo("limit-too-high").review.recording
    stop = len(whole) // 3
    first = whole.rows(0, stop)
    begun = Recording.from_columns(
        first.time.copy(), {name: first.column(name).copy() for name in first.channels}, first.provenance
    )
    found = GrowingReview(begun, demo("limit-too-high").review.site)
    yield found, whole, stop
    found.close()


def test_pages_follow_what_grows(open_window, growing, monkeypatch):
    found, whole, stop = growing
    ready = prepared(found)
    window = open_window()
    monkeypatch.setattr(window.live, "origin", lambda: "a plant · live")
    window.show_live(ready)
    window.look.show_page("causes")
    dialog = window.look.dialog
    assert dialog.names.item(0).text() == "Causes"
    for start in range(stop, len(whole), 400):
        rows = slice(start, min(start + 400, len(whole)))
        columns = {name: np.asarray(whole.column(name))[rows] for name in whole.channels}
        found.extend(whole.time[rows], columns)
        window.board.grow()
        for page in dialog.pages:
            dialog.show_page(page)
    found.settle()
    dialog.show_page("causes")
    dialog.refresh()
    assert dialog.names.item(0).text() == "Causes ◆ 2"
    assert dialog.causes.events is not None
    dialog.show_page("meters")
    assert dialog.meters.tries == []
    assert not window.board.corrected.isVisible()


def test_a_long_recording_is_looked_into_beside_the_window(open_window, demo, monkeypatch, qtbot):
    monkeypatch.setattr(beforehand, "AT_ONCE_ROWS", 100)
    path = demo("limit-too-high").wanted.paths[0]
    found = review(*open_recording(path))
    judged, threads = type(found).limit_advice, []

    def noted(one):
        threads.append(threading.current_thread())
        return judged.fget(one)

    monkeypatch.setattr(type(found), "limit_advice", property(noted))
    window = open_window(prepared(found))
    threads.clear()
    window.look.show_page("limit")
    dialog = window.look.dialog
    assert told(dialog.pages["limit"]) == "This is being looked into…"
    qtbot.waitUntil(lambda: dialog.pages["limit"].table is not None, timeout=30_000)
    assert threads[0] is not threading.main_thread()
    assert dialog.names.item(3).text() == "Input limit ◆ 1"


def test_closing_waits_for_no_judgement(open_window, demo, monkeypatch, qtbot):
    monkeypatch.setattr(beforehand, "AT_ONCE_ROWS", 100)
    found = review(*open_recording(demo("limit-too-high").wanted.paths[0]))
    judged, begun, goes_on = type(found).limit_advice, threading.Event(), threading.Event()

    def held_up(one):
        if threading.current_thread() is not threading.main_thread():
            begun.set()
            goes_on.wait(30)
        return judged.fget(one)

    monkeypatch.setattr(type(found), "limit_advice", property(held_up))
    window = open_window(prepared(found))
    window.look.show_page("battery")
    qtbot.waitUntil(begun.is_set)
    window.look.dialog.close()
    assert window.look.dialog is None
    goes_on.set()
    window.look.show_page("battery")
    qtbot.waitUntil(lambda: told(window.look.dialog.pages["battery"]) != "This is being looked into…")


def told(page) -> str:
    return page.findChildren(QLabel)[-1].text()


def test_a_page_that_says_the_same_is_not_made_anew(looking):
    _, dialog = looking("limit-too-high", "limit")
    table = dialog.pages["limit"].table
    dialog.refresh()
    assert dialog.pages["limit"].table is table
    dialog.show_page("causes")
    dialog.show_page("limit")
    assert dialog.pages["limit"].table is table
