"""The plan's window as a person uses it: form, progress, cancel, answer, picture; with a recording and without."""

import math
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel
from test_main_window import action

from desktop.charging.outlook.as_text import told_rules
from desktop.opening import open_recording
from desktop.review import review
from desktop.window.opening import Wanted, prepared
from desktop.window.plan.dialog import PlanDialog

LEFT = Qt.MouseButton.LeftButton
DEMOS = Path(__file__).parents[3] / "recordings" / "demo"


@pytest.fixture(scope="session")
def overcast():
    path = DEMOS / "two-overcast-days.csv"
    return prepared(review(*open_recording(path)), Wanted((path,)))


@pytest.fixture
def dialog(open_window, overcast, qtbot) -> PlanDialog:
    """The dialog beside a window with two recorded days, asked for a short plan of few rules."""
    window = open_window(overcast)
    action(window, "Look into", "Plan for an outage…").trigger()
    found = window.plan.dialog
    assert found.worker.busy
    qtbot.mouseClick(found.cancel, LEFT)
    assert found.told.text() == "Cancelled."
    for line, text in ((found.form.days, "10"), (found.form.starts, "25 35"), (found.form.stops, "80")):
        type_into(line.line, text)
    type_into(found.form.limits.line, "20")
    return found


def type_into(field, text: str) -> None:
    field.setFocus()
    QTest.keyClicks(field, text)


def worked(dialog, qtbot) -> None:
    before = dialog.answer
    qtbot.mouseClick(dialog.begin, LEFT)
    qtbot.waitUntil(lambda: dialog.answer is not before, timeout=60_000)


def told(widget) -> str:
    return "\n".join(each.text() for each in widget.findChildren(QLabel)).replace("\u00a0", " ")


def test_the_answer_comes_first_then_rules_charts_and_what_it_rests_on(dialog, qtbot):
    shares: list[float] = []
    dialog.worker.progressed.connect(lambda _, share: shares.append(share))
    worked(dialog, qtbot)
    assert shares == sorted(shares)
    assert shares
    assert not dialog.bar.isVisible()
    words, found = told(dialog.answer), dialog.answer.plan.outlook
    assert words.index("The generator has to run") < words.index("RULES") < words.index("RESTS ON")
    assert "Whole days recorded: 2" in words
    assert "Exhaust gas kills" in words
    rules = {(one.rule.start_soc, one.rule.stop_soc, one.rule.limit_a) for one in found.rules}
    assert rules >= {(25, 80, 20), (35, 80, 20)}
    assert found.question.horizon == 10
    head, *rows = [[cell.text() for cell in line] for line in dialog.answer.table.cells]
    assert [row[0] for row in rows] == [str(number + 1) for number in told_rules(found)]
    assert next(row[0] for row in rows if row[-1] == "← best") == str(found.best + 1)
    assert head[3] == "limit"
    assert all(view.chart is not None for view in dialog.answer.charts)


def test_of_many_rules_the_table_shows_those_worth_a_line(dialog, qtbot):
    for line in (dialog.form.starts.line, dialog.form.stops.line, dialog.form.limits.line):
        line.clear()
    worked(dialog, qtbot)
    found, table = dialog.answer.plan.outlook, dialog.answer.table
    rows = [[cell.text() for cell in line] for line in table.cells][1:]
    assert len(rows) == len(told_rules(found)) < len(found.rules)
    assert next(row[0] for row in rows if row[-1] == "← best") == str(found.best + 1)
    assert f"{len(found.rules) - len(rows)} more, with other limits" in told(dialog.answer)
    assert dialog.answer.rule.count() == len(found.rules)


def test_what_the_form_says_is_what_is_asked(dialog, qtbot):
    form = dialog.form
    type_into(form.overcast.line, "30")
    type_into(form.fuel.line, "40")
    type_into(form.most_starts.line, "1,5")
    qtbot.mouseClick(
        form.quiet.box, LEFT, pos=form.quiet.box.rect().center() - form.quiet.box.rect().center()
    )
    form.quiet.box.setFocus()
    if not form.quiet.box.isChecked():
        qtbot.keyClick(form.quiet.box, Qt.Key.Key_Space)
    wishes = form.wishes()
    assert (wishes.overcast, wishes.fuel, wishes.days, wishes.most_starts) == (0.3, 40, 10, 1.5)
    assert (wishes.quiet.start, wishes.quiet.until) == (22, 7)
    assert (wishes.starts, wishes.stops, wishes.limits) == ((25, 35), (80,), (20,))
    worked(dialog, qtbot)
    assert math.isclose(dialog.answer.plan.outlook.plant.generator.store, 40)
    assert "with 30 % of the usual sun" in told(dialog.answer)
    assert dialog.answer.charts[1].chart.stretches


def test_a_wrong_line_says_what_would_be_right(dialog, qtbot):
    type_into(dialog.form.soc.line, "180")
    assert dialog.form.soc.fault.text() == "◆ Here goes a number from 0 to 100."
    qtbot.mouseClick(dialog.begin, LEFT)
    assert "can't be right" in dialog.told.text()
    assert dialog.answer is None


def test_another_rule_is_drawn_beside_the_best(dialog, qtbot):
    worked(dialog, qtbot)
    answer = dialog.answer
    other = (answer.plan.outlook.best + 1) % len(answer.plan.outlook.rules)
    answer.rule.setCurrentIndex(other)
    answer.rule.activated.emit(other)
    assert len(answer.charts[1].chart.areas) == 2
    assert f"rule {other + 1} " in str(answer.charts[1].chart.curves[0].label)


def test_the_answer_is_exported_and_copied_as_a_picture(dialog, qtbot, tmp_path):
    assert not dialog.export.isEnabled()
    worked(dialog, qtbot)
    target = tmp_path / "plan.png"
    dialog.save_picture(str(target))
    assert QImage(str(target)).height() > 600
    qtbot.mouseClick(dialog.copy, LEFT)
    assert QGuiApplication.clipboard().image().height() == QImage(str(target)).height()
    dialog.save_picture(str(tmp_path / "none" / "plan.png"))
    assert "plan.png" in dialog.told.text()


def test_a_recording_of_an_hour_says_what_helps(open_window, ready, qtbot):
    window = open_window(ready)
    dialog = window.plan.show()
    qtbot.waitUntil(lambda: "whole day" in dialog.told.text(), timeout=30_000)
    assert "type the appliances into the form" in dialog.told.text()
    assert not dialog.worker.busy


def test_without_a_recording_appliances_and_a_sheet_tell(open_window, overcast, qtbot):
    window = open_window()
    dialog = window.plan.show()
    assert not dialog.worker.busy
    qtbot.mouseClick(dialog.begin, LEFT)
    qtbot.waitUntil(lambda: "nothing tells what the house takes" in dialog.told.text(), timeout=10_000)
    window.plan.use_site(str(overcast.wanted.paths[0].with_suffix(".toml")))
    editor = dialog.form.appliances
    assert editor.isVisible()
    qtbot.mouseClick(editor.add, LEFT)
    for number, text in enumerate(("Fridge", "120")):
        type_into(editor.rows[0].fields[number].widget, text)
    type_into(dialog.form.days.line, "8")
    type_into(dialog.form.starts.line, "30")
    worked(dialog, qtbot)
    assert "Load a day: 2.88 kWh" in told(dialog.answer)


def test_closing_ends_the_thread(open_window, overcast, qtbot):
    window = open_window(overcast)
    dialog = window.plan.show()
    worker = dialog.worker
    assert worker.busy
    qtbot.keyClick(dialog, Qt.Key.Key_Escape)
    assert window.plan.dialog is None
