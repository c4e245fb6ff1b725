"""No text of the pages and of the plan is cut off or covered, at any size of letters, in every language."""

import pytest
from painted_words import words_of
from PySide6.QtWidgets import QScrollArea
from test_proof_geometry import SCALES, SPOKEN, check, side_by_side

from desktop.charging.outlook.evidence import Evidence
from desktop.charging.outlook.planning import Plan, Wishes, plan
from desktop.charging.outlook.rule import Hours
from desktop.window import language
from desktop.window.shot import settle

SIZES = [(1000, 700), (640, 480)]
NAMES = ("limit-too-high", "reversed-battery-meter", "two-overcast-days")


@pytest.fixture(params=SPOKEN)
def spoken(request, qapp):
    language.apply(request.param)
    yield request.param
    language.apply("en")


@pytest.mark.parametrize("scale", SCALES)
def test_no_word_of_a_page_is_cut_off_or_covered(open_window, demo, spoken, scale):
    for number, name in enumerate(NAMES):
        window = open_window(demo(name), (1280, 720))
        window.set_text_scale(scale)
        window.set_theme(("light", "dark")[number % 2])
        window.look.show_page("causes")
        dialog = window.look.dialog
        for page in dialog.pages:
            dialog.show_page(page)
            for size in SIZES:
                dialog.resize(*size)
                settle(dialog)
                words = words_of(dialog)
                assert len(words) > 8
                check(words)
                assert not side_by_side(dialog)
        dialog.reject()


@pytest.fixture(scope="module")
def planned(demo) -> Plan:
    found = demo("two-overcast-days").review
    evidence = Evidence(found.minutes, found.learned, found.battery, found.fuel.curve, found.fuel.tank)
    wishes = Wishes(days=6, runs_of_chance=20, starts=(25, 35), stops=(80,), quiet=Hours(22, 7), overcast=0.4)
    return plan(found.site, evidence, wishes)


@pytest.mark.parametrize("scale", SCALES)
def test_no_word_of_a_plan_is_cut_off_or_covered(open_window, planned, spoken, scale):
    window = open_window(None, (1280, 720))
    window.set_text_scale(scale)
    dialog = window.plan.show()
    dialog.form.appliances.add.click()
    for size in ((1200, 760), (800, 600)):
        dialog.resize(*size)
        for found in (None, planned):
            if found is not None:
                dialog.take(found)
            settle(dialog)
            check(words_of(dialog))
    assert any(
        isinstance(each, QScrollArea) and each.isVisible() for each in dialog.findChildren(QScrollArea)
    )
    dialog.told.show()
    dialog.told.say("attend", "the recording doesn't cover a whole day: expected readings. " * 3)
    settle(dialog)
    check(words_of(dialog))


@pytest.mark.parametrize("scale", SCALES)
def test_no_word_of_the_corrected_window_is_cut_off_or_covered(open_window, demo, spoken, scale, qtbot):
    window = open_window(demo("reversed-battery-meter"), (1280, 720))
    window.set_text_scale(scale)
    before = window.ready
    window.look.try_out(before.review.suspects[0])
    qtbot.waitUntil(lambda: window.ready is not before and not window.opener.busy, timeout=30_000)
    settle(window)
    words = words_of(window)
    assert window.board.corrected.told.line in {word.widget for word in words}
    check(words)
