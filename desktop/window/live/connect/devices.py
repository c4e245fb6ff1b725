"""The devices that were found: each with its readings, what it may be and why, for a person to say so."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QApplication, QCheckBox, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from desktop.channel_names import CHANNEL_NAMES
from desktop.window.live.connect.target import needs_role
from desktop.window.parts.panel import Panel
from desktop.window.parts.severity_mark import Mark
from desktop.window.parts.text import Text
from desktop.window.sheet.fields import Choice
from desktop.window.style import theme
from desktop.window.style.look import look
from desktop.words import Phrase, template, tr

if TYPE_CHECKING:
    from drivers.probe.found import FoundDevice, FoundReading
    from drivers.roles import Role

ROLE_NAMES: dict[str, str] = {
    "generator": template("Generator"),
    "grid": template("Grid"),
    "load": template("House"),
    "solar": template("Solar"),
    "battery": template("Battery"),
    "converter": template("Inverter-charger"),
}
_VERDICTS: dict[str, str] = {
    "plausible": template("plausible"),
    "implausible": template("can't be right"),
    "no reading": template("no reading"),
    "not read": template("could not be read"),
}
_POINTS: dict[str, str] = {
    "W": template("power"),
    "A": template("current"),
    "PhV": template("voltage"),
    "LNV": template("voltage"),
    "PhVphA": template("voltage, first leg"),
    "Hz": template("frequency"),
}
"""What the points of a meter are called whose role isn't known yet."""
_MOST = 14
_EDGE = 140
_KNOWN_UNITS = ("W", "A", "V", "Hz", "%", "°C")


class DeviceCard(Panel):
    """One device.

    changed  it is to be used in another role, or not at all
    """

    changed = Signal()

    def __init__(self, device: FoundDevice, parent: QWidget | None = None) -> None:
        super().__init__("", parent)
        self.device = device
        self._grid: QGridLayout | None = None
        self.use = QCheckBox(device.identity or device.source.partition("?")[0])
        self.use.setAccessibleDescription(device.source)
        self.role = Choice()
        self.role.setAccessibleName(tr("What it is"))
        self._fill_roles()
        self.why = Text(tone="muted", wrap=True)
        self.mark = Mark(1.0)
        self.mark.show_severity("attend")
        self.problem = Text(wrap=True)
        self._lay_out()
        self.use.setChecked(self._usable())
        self.use.toggled.connect(self._tell)
        self.role.currentIndexChanged.connect(self._tell)
        self.show_device(device)
        self._dress()
        look().changed.connect(self._dress)

    @property
    def chosen_role(self) -> Role | None:
        """What the user says that it is; None where its map says it, or nobody has said it yet."""
        role: Role | None = self.role.currentData()
        return role

    @property
    def chosen(self) -> bool:
        """Whether it is to be used, and can be."""
        return self.use.isChecked() and self._usable() and not self._lacks_role()

    def show_device(self, device: FoundDevice) -> None:
        """Show the same device as it was read last."""
        self.device = device
        self._show_readings(device.readings)
        self._show_standing()

    def _fill_roles(self) -> None:
        device = self.device
        self.role.addItem(tr("choose what it is") if needs_role(device) else tr("what its map says"), None)
        for role in device.roles:
            self.role.addItem(tr(ROLE_NAMES[role]), role)
        self.role.setCurrentIndex(max(self.role.findData(device.role), 0) if device.role else 0)

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self.use, 1)
        head.addWidget(Text(str(Phrase("unit {unit}", unit=str(self.device.unit))), tone="muted"))
        self.body.addLayout(head)
        asked = QHBoxLayout()
        asked.addWidget(self.role)
        asked.addWidget(self.why, 1)
        self.body.addLayout(asked)
        wrong = QHBoxLayout()
        wrong.addWidget(self.mark)
        wrong.addWidget(self.problem, 1)
        self.body.addLayout(wrong)
        self._readings = QWidget()
        column = QVBoxLayout(self._readings)
        column.setContentsMargins(0, 0, 0, 0)
        self.body.addWidget(self._readings)

    def _show_readings(self, readings: Sequence[FoundReading]) -> None:
        if self._grid is not None:
            while (item := self._grid.takeAt(0)) is not None:
                item.widget().deleteLater()
        else:
            self._grid = QGridLayout()
            self._grid.setVerticalSpacing(1)
            self._grid.setHorizontalSpacing(14)
            self._grid.setColumnStretch(2, 1)
            self._readings.layout().addLayout(self._grid)
        for row, reading in enumerate(readings[:_MOST]):
            wrong = reading.verdict == "implausible"
            tone = "attend" if wrong else "muted"
            verdict = tr(_VERDICTS[reading.verdict])
            parts = (
                Text(tr(CHANNEL_NAMES.get(reading.channel) or _POINTS.get(reading.name, reading.name))),
                Text(_amount(reading)),
                Text(f"◆ {verdict}" if wrong else verdict, tone=tone, bold=wrong),
            )
            for column, part in enumerate(parts):
                self._grid.addWidget(part, row, column)

    def _show_standing(self) -> None:
        device = self.device
        self.role.setEnabled(self._usable())
        self.use.setEnabled(self._usable())
        why = device.why if device.role is not None and self.chosen_role == device.role else ""
        self.why.show_text(str(Phrase("a guess: {why}", why=why)) if why else "")
        if self._lacks_role():
            told = (
                str(Phrase("Say what it is: {why}", why=device.why)) if device.why else tr("Say what it is.")
            )
        elif self._usable():
            told = "; ".join(device.notes)
        else:
            told = device.problem
        self.problem.show_text(told)
        attention = self._lacks_role() or not self._usable()
        self.mark.setVisible(attention)
        self.problem.setVisible(bool(told))
        self.problem.set_tone("text" if attention else "muted")

    def _usable(self) -> bool:
        """Whether it can be used once it is said what it is."""
        return not self.device.problem or (needs_role(self.device) and self.device.role is None)

    def _lacks_role(self) -> bool:
        return self._usable() and needs_role(self.device) and self.chosen_role is None

    def _dress(self) -> None:
        # The style draws the edge of the box this much darker than the window, which is nothing in the dark.
        palette = QPalette(QApplication.palette())
        palette.setColor(QPalette.ColorRole.Window, theme.colour("strong_line").lighter(_EDGE))
        self.use.setPalette(palette)

    def _tell(self) -> None:
        self._show_standing()
        self.changed.emit()


def _amount(reading: FoundReading) -> str:
    if math.isnan(reading.value):
        return "–"
    if reading.unit in _KNOWN_UNITS:
        return str(Phrase(f"{{value:{reading.unit}}}", value=reading.value))
    return f"{reading.value:g} {reading.unit}".strip()
