"""The connect dialog by itself: what it asks, what it shows of what was found, and when it lets one go on."""

import threading

import pytest
from live_states import found
from live_threads import threads
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialogButtonBox

from desktop.site import Site
from desktop.window.live.connect.dialog import ConnectDialog
from desktop.window.settings import Forgotten, Settings
from drivers.probe.found import Found

LEFT = Qt.MouseButton.LeftButton


class Looks:
    """Stands where the wire would be: what it was asked, and what it answers."""

    def __init__(self) -> None:
        self.asked: list[str] = []
        self.answer = found()
        self.held = threading.Event()
        self.held.set()

    def __call__(self, address, progress, stop) -> Found:
        self.asked.append(address)
        progress("unit 1")
        while not self.held.wait(0.01):
            if stop.is_set():
                return Found(address, stopped=True)
        return self.answer


@pytest.fixture
def looks() -> Looks:
    return Looks()


@pytest.fixture
def dialog(qtbot, looks, tmp_path):
    settings = Settings(Forgotten())
    settings.folder = str(tmp_path)
    dialog = ConnectDialog(settings, look=looks)
    qtbot.addWidget(dialog)
    dialog.open()
    qtbot.waitExposed(dialog)
    yield dialog
    dialog.close()
    assert not threads()


def look(dialog, qtbot, host: str = "barn:1502") -> None:
    dialog.form.host.setText(host)
    QTest.mouseClick(dialog.look, LEFT)
    qtbot.waitUntil(lambda: bool(dialog.cards), timeout=5000)


def test_it_says_that_the_program_only_reads(dialog):
    assert any("only reads" in label.text() for label in dialog.findChildren(type(dialog.form.help)))
    assert not dialog.watch.isEnabled()


def test_without_an_address_it_asks_for_one(dialog, looks):
    QTest.mouseClick(dialog.look, LEFT)
    assert "where the devices are" in dialog.told.text()
    assert not looks.asked


def test_what_is_found_is_shown_with_guesses_plausibility_and_problems(dialog, looks, qtbot):
    look(dialog, qtbot)
    assert looks.asked == ["modbus-tcp://barn:1502"]
    battery, meter, unknown = dialog.cards
    assert battery.chosen_role == "battery"
    assert battery.why.text() == "a guess: a battery model"
    words = [label.text() for label in battery.findChildren(type(battery.why))]
    assert {"4.38 kW", "◆ can't be right", "no reading", "–"} <= set(words)
    assert meter.use.isChecked()
    assert not meter.chosen
    assert "a meter can't tell" in meter.problem.text()
    assert not unknown.use.isEnabled()
    assert "register map" in unknown.problem.text()
    assert "unit 7 answers too" in dialog.told.text()
    # One device is to be used, and nobody has said yet what it is.
    assert not dialog.watch.isEnabled()
    meter.role.setCurrentIndex(meter.role.findData("load"))
    assert dialog.watch.isEnabled()
    meter.use.setChecked(False)
    assert dialog.watch.isEnabled()
    battery.use.setChecked(False)
    assert not dialog.watch.isEnabled()


def test_reading_again_asks_each_chosen_device_in_its_role(dialog, looks, qtbot):
    look(dialog, qtbot)
    _, meter, _ = dialog.cards
    meter.role.setCurrentIndex(meter.role.findData("generator"))
    looks.asked.clear()
    QTest.mouseClick(dialog.test, LEFT)
    qtbot.waitUntil(lambda: "Read again" in dialog.told.text(), timeout=5000)
    assert looks.asked == [
        f"modbus-tcp://192.168.1.40:502?unit={each}" for each in ("1&role=battery", "2&role=generator")
    ]
    assert meter.chosen_role == "generator"


def test_a_look_can_be_cancelled(dialog, looks, qtbot):
    looks.held.clear()
    dialog.form.host.setText("barn")
    QTest.mouseClick(dialog.look, LEFT)
    qtbot.waitUntil(lambda: "unit 1" in dialog.told.text(), timeout=5000)
    assert not dialog.look.isEnabled()
    QTest.mouseClick(dialog.cancel, LEFT)
    assert dialog.look.isEnabled()
    qtbot.waitUntil(lambda: not threads(), timeout=5000)
    assert not dialog.cards


def test_closing_ends_a_look(dialog, looks, qtbot):
    looks.held.clear()
    dialog.form.host.setText("barn")
    QTest.mouseClick(dialog.look, LEFT)
    qtbot.waitUntil(lambda: bool(looks.asked), timeout=5000)
    QTest.mouseClick(dialog.buttons.button(QDialogButtonBox.StandardButton.Close), LEFT)
    assert not threads()


def test_where_nothing_answers_it_says_why(dialog, looks, qtbot):
    looks.answer = Found("modbus-tcp://barn", problem="modbus-tcp://barn: nothing answers there")
    dialog.form.host.setText("barn")
    QTest.keyClick(dialog.form.host, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: "nothing answers" in dialog.told.text(), timeout=5000)
    assert not dialog.cards
    assert not dialog.found_parts.isVisible()


def test_each_kind_asks_for_what_belongs_to_it(dialog):
    form = dialog.form
    shown = {}
    for kind in ("network", "serial", "lines", "text"):
        form.kind.setCurrentIndex(form.kind.findData(kind))
        fields = {
            "host": form.host,
            "port": form.port,
            "baud": form.baud,
            "units": form.units,
            "map": form.map,
        }
        shown[kind] = {name for name, field in fields.items() if field.isVisible()}
    assert shown == {
        "network": {"host", "units", "map"},
        "serial": {"port", "baud", "units", "map"},
        "lines": {"port", "baud", "map"},
        "text": {"host"},
    }
    form.kind.setCurrentIndex(form.kind.findData("lines"))
    form.port.setEditText("/dev/ttyS7")
    assert form.target().address == "serial:///dev/ttyS7?baud=115200"


def test_saving_writes_the_chosen_devices_and_asks_to_watch_them(dialog, looks, qtbot, tmp_path):
    look(dialog, qtbot)
    _, meter, _ = dialog.cards
    meter.role.setCurrentIndex(meter.role.findData("load"))
    assert dialog.sheet.text() == str(tmp_path / "plant.toml")
    with qtbot.waitSignal(dialog.watch_asked) as asked:
        QTest.mouseClick(dialog.watch, LEFT)
    assert asked.args[0].source == str(tmp_path / "plant.toml")
    site = Site.load(tmp_path / "plant.toml")
    assert [(each.source[-1], each.role) for each in site.device] == [("1", "battery"), ("2", "load")]


def test_a_sheet_that_cannot_be_written_keeps_the_dialog_open(dialog, looks, qtbot, tmp_path):
    look(dialog, qtbot)
    dialog.cards[1].use.setChecked(False)
    dialog.sheet.setText(str(tmp_path / "no" / "such" / "folder" / "plant.toml"))
    QTest.mouseClick(dialog.watch, LEFT)
    assert dialog.isVisible()
    assert "plant.toml" in dialog.told.text()
