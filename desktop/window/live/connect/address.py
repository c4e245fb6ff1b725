"""The form that asks where the devices are."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QComboBox,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QWidget,
)

from desktop.window.live.connect.target import USUAL_BAUD, Kind, Target
from desktop.window.parts.text import Text
from desktop.window.sheet.fields import Choice
from desktop.words import Phrase, template, tr

KINDS: dict[Kind, str] = {
    "network": template("Modbus over the network"),
    "serial": template("Modbus on a serial port"),
    "lines": template("Lines of text on a serial port"),
    "text": template("Another address"),
}
_HELP: dict[Kind, str] = {
    "network": template("The device's name or number in the network, with its port where that isn't 502."),
    "serial": template("RS-485 or RS-232 through an adapter; the baud rate stands in the device's manual."),
    "lines": template("A device that prints its values; a map says which value is which."),
    "text": template(
        "modbus-tcp://HOST:PORT?unit=1, modbus-rtu:///dev/ttyUSB0?baud=9600, serial:///dev/ttyUSB0, each with "
        "&map=FILE.toml where it doesn't describe itself."
    ),
}
_PLACES: dict[Kind, str] = {
    "network": template("Host"),
    "serial": template("Serial port"),
    "lines": template("Serial port"),
    "text": template("Address"),
}
_EXAMPLES: dict[Kind, str] = {"network": "192.168.1.40", "text": "modbus-tcp://192.168.1.40:502?unit=1"}


class AddressForm(QWidget):
    """Where to look, as a `Target`.

    changed   something else is filled in
    entered   Enter was pressed in a field
    """

    changed = Signal()
    entered = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.kind = Choice()
        for key, label in KINDS.items():
            self.kind.addItem(tr(label), key)
        self.kind.currentIndexChanged.connect(self._choose)
        self.host = QLineEdit()
        self.port = QComboBox()
        self.port.setEditable(True)
        self.units = QLineEdit()
        self.units.setPlaceholderText(tr("the usual ones"))
        self.baud = QLineEdit()
        self.map = QLineEdit()
        self.map.setPlaceholderText(tr("none: the device describes itself"))
        self.browse = QPushButton(tr("Choose…"))
        self.browse.setAccessibleName(tr("Choose a map"))
        self.browse.clicked.connect(self._ask_map)
        self.help = Text(tone="muted", wrap=True)
        self._lay_out()
        for field in (self.host, self.port.lineEdit(), self.units, self.baud, self.map):
            field.textChanged.connect(self.changed)
            field.returnPressed.connect(self.entered)
        self._choose()

    def target(self) -> Target:
        """What is filled in."""
        kind = self._kind()
        on_port = kind in ("serial", "lines")
        place = self.port.currentText().split("  ")[0] if on_port else self.host.text()
        return Target(kind, place, self.units.text(), self.baud.text() if on_port else "", self.map.text())

    def show_target(self, target: Target) -> None:
        """Fill it in."""
        self.kind.setCurrentIndex(self.kind.findData(target.kind))
        self.host.setText(target.place)
        self.port.setEditText(target.place)
        self.units.setText(target.units)
        self.map.setText(target.map)
        if target.baud:
            self.baud.setText(target.baud)

    def _kind(self) -> Kind:
        kind: Kind = self.kind.currentData()
        return kind

    def _lay_out(self) -> None:
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setColumnStretch(1, 1)
        self._labels = {name: Text() for name in ("kind", "place", "baud", "units", "map")}
        self._labels["kind"].setText(tr("What is it?"))
        self._labels["baud"].setText(tr("Baud rate"))
        self._labels["units"].setText(tr("Unit ids"))
        self._labels["map"].setText(tr("Map"))
        chosen = QHBoxLayout()
        chosen.addWidget(self.map, 1)
        chosen.addWidget(self.browse)
        for row, (name, parts) in enumerate(
            {
                "kind": [self.kind],
                "place": [self.host, self.port],
                "baud": [self.baud],
                "units": [self.units],
                "map": [chosen],
            }.items()
        ):
            grid.addWidget(self._labels[name], row, 0)
            for part in parts:
                if isinstance(part, QWidget):
                    part.setAccessibleName(self._labels[name].text())
                    grid.addWidget(part, row, 1)
                else:
                    grid.addLayout(part, row, 1)
        self.map.setAccessibleName(self._labels["map"].text())
        grid.addWidget(self.help, grid.rowCount(), 1)

    def _choose(self) -> None:
        """Ask only for what belongs to this kind."""
        kind = self._kind()
        on_port = kind in ("serial", "lines")
        name = tr(_PLACES[kind])
        self._labels["place"].show_text(name)
        self.host.setAccessibleName(name)
        self.port.setAccessibleName(name)
        self.host.setPlaceholderText(_EXAMPLES.get(kind, ""))
        self.host.setVisible(not on_port)
        self.port.setVisible(on_port)
        shown = {"baud": on_port, "units": kind in ("network", "serial"), "map": kind != "text"}
        for part, is_shown in shown.items():
            self._labels[part].setVisible(is_shown)
        self.baud.setVisible(shown["baud"])
        self.units.setVisible(shown["units"])
        self.map.setVisible(shown["map"])
        self.browse.setVisible(shown["map"])
        self.help.show_text(tr(_HELP[kind]))
        if on_port:
            self.baud.setText(USUAL_BAUD[kind])
            self._list_ports()
        self.changed.emit()

    def _list_ports(self) -> None:
        # Asking the system takes a moment, and most devices are in the network.
        from drivers.serial_lines.ports import serial_ports

        wanted = self.port.currentText()
        self.port.clear()
        for port in serial_ports():
            self.port.addItem(f"{port.device}  {port.description}".strip(), port.device)
        self.port.setEditText(wanted or self.port.itemText(0))
        none = str(Phrase("no serial port was found")) if not self.port.count() else ""
        self.port.lineEdit().setPlaceholderText(none)

    def _ask_map(self) -> None:
        dialog = QFileDialog(self, tr("Choose a map"), str(Path(self.map.text()).parent))
        dialog.setNameFilters([tr("Maps (*.toml)"), tr("All files (*)")])
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self.map.setText)
        dialog.open()
