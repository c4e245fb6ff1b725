"""Settings, limit, battery and fuel: what they show is what the review says."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QLabel

from desktop.review.as_text import limit_set
from desktop.review.foretold import foretold, held_phrase
from desktop.window.evidence.state_mark import StateMark
from desktop.window.shot import settle
from desktop.words import percent


def told(dialog) -> str:
    words = "\n".join(each.text() for each in dialog.stack.currentWidget().findChildren(QLabel))
    return words.replace("\u00a0", " ")


def cells(table) -> list[list[str]]:
    return [[cell.text() for cell in line] for line in table.cells]


def test_every_setting_has_a_shape_and_a_word_and_failures_come_first(looking, demo):
    _, dialog = looking("limit-too-high", "settings")
    page, checks = dialog.pages["settings"], demo("limit-too-high").review.checks
    assert {key: word.text() for key, word in page.words.items()} == {each.key: each.state for each in checks}
    assert page.words["limit_within_rating"].text() == "fail"
    marks = [each.state for each in page.findChildren(StateMark)]
    assert marks[0] == "fail"
    assert marks == sorted(marks, key=("fail", "unknown", "pass").index)
    words = told(dialog)
    assert "At most 33.3 A" in words
    assert "Continuous rating: 4.00 kW (on the site sheet)" in words
    assert "amperes that it may draw" in words
    assert dialog.names.item(2).text() == "Settings ◆ 1"


def test_the_limit_is_advised_in_words_charts_and_a_table(looking, demo):
    _, dialog = looking("limit-too-high", "limit")
    page, review = dialog.pages["limit"], demo("limit-too-high").review
    best, now = review.limit_advice.best, limit_set(review)
    assert "Lower it from 42.0 A" in told(dialog)
    marks = {str(each.label): each.x for each in page.charts[0].chart.uprights}
    assert marks[f"advised {best.limit_a:.1f} A"] == best.limit_a
    assert marks["set now 42.0 A"] == now == 42
    head, *rows = cells(page.table)
    assert head[0] == "limit"
    by_mark = {row[1].split(",")[0]: row[0] for row in rows if row[1]}
    assert by_mark["advised: costs least"] == f"{best.limit_a:.1f} A"
    assert by_mark["set now"] == "42.0 A"
    assert any("usual practice" in row[1] for row in rows)


def test_where_no_limit_can_be_advised_it_says_why(looking):
    _, dialog = looking("two-overcast-days", "limit")
    assert "takes readings every" in told(dialog)
    assert dialog.pages["limit"].charts == []


def test_the_battery_stands_with_its_intervals(looking, demo):
    _, dialog = looking("two-overcast-days", "battery")
    rows = {row[0]: row[1:] for row in cells(dialog.pages["battery"].table)}
    facts = demo("two-overcast-days").review.battery
    assert rows["Delivers from full to empty"][0] == f"{facts.capacity_wh.value / 1000:.2f} kWh"
    assert rows["Delivers from full to empty"][2] == "in the recording"
    assert "mΩ" in rows["Internal resistance"][0]


def test_what_was_forecast_stands_beside_what_came(looking, demo):
    _, dialog = looking("two-overcast-days", "battery")
    told_then = foretold(demo("two-overcast-days").review)
    head, *rows = cells(dialog.pages["battery"].forecasts)
    assert [each.replace("\n", " ") for each in head] == [
        *("Said at", "Target", "Expected at", "Between", "Reached at", "Off by"),
    ]
    assert len(rows) == len(told_then) == 6
    for row, each in zip(rows, told_then, strict=True):
        assert row[1] == percent(each.soc)
        assert ("◆" in row[5]) == (each.held is False)
    assert str(held_phrase(told_then)) in told(dialog)


def test_its_own_state_of_charge_stands_beside_the_reported_one(looking, demo):
    _, dialog = looking("lead-acid-absorption", "battery")
    own = demo("lead-acid-absorption").review.battery.own_soc
    view = dialog.pages["battery"].chart
    assert (own is None) == (view is None)
    if view is not None:
        assert [str(curve.label) for curve in view.chart.curves] == ["Counted", "As the gauge says"]
        assert view.accessibleDescription()


def test_fuel_stands_by_session_and_over_load(looking, demo):
    _, dialog = looking("two-overcast-days", "fuel")
    page, fuel = dialog.pages["fuel"], demo("two-overcast-days").review.fuel
    _, *rows = cells(page.table)
    assert [row[3] for row in rows] == [f"{each.amount:.1f} ± {each.sd:.1f}" for each in fuel.sessions]
    assert len(page.chart.chart.dots) == len(fuel.sessions)
    assert "What is left in the tank isn't known." in told(dialog)


def test_charts_are_told_to_those_who_cannot_see_them(looking):
    _, dialog = looking("limit-too-high", "limit")
    for view in dialog.pages["limit"].charts:
        spoken = QAccessible.queryAccessibleInterface(view)
        assert spoken.role() == QAccessible.Role.Chart
        assert spoken.text(QAccessible.Text.Name)
        assert spoken.text(QAccessible.Text.Description)


def test_every_page_is_reached_and_scrolled_by_keys(looking, qtbot):
    _, dialog = looking("limit-too-high", "settings")
    dialog.resize(700, 420)
    settle(dialog)
    area = dialog.stack.currentWidget()
    area.setFocus(Qt.FocusReason.TabFocusReason)
    before = area.verticalScrollBar().value()
    qtbot.keyClick(area, Qt.Key.Key_PageDown)
    assert area.verticalScrollBar().value() > before
