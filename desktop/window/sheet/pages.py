"""The pages of the site sheet's form: one per section, each putting its fields into a draft."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from desktop.sheet import numbers
from desktop.sheet.channels import label
from desktop.sheet.editing import SheetDraft
from desktop.sheet.keys import REPEATED, SECTIONS, SINGLE, Key
from desktop.window.parts.text import Text
from desktop.window.sheet.entries import EntriesEditor
from desktop.window.sheet.fields import Field, all_right, beside, field
from desktop.words import Phrase, tr
from recordings.channels import CHANNELS, POWERS


class SheetPage(QWidget):
    """One section.

    changed  the user changed something on it
    """

    changed = Signal()

    def __init__(self, section: str) -> None:
        super().__init__()
        self.section = section
        self.fields: list[Field] = []
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 8)
        self.column.setSpacing(12)
        self.column.addWidget(Text(tr(SECTIONS[section]), size=1.25, bold=True))

    def show_draft(self, draft: SheetDraft) -> None:
        """Show what the sheet says."""
        raise NotImplementedError

    def put_into(self, draft: SheetDraft) -> None:
        """Say in the sheet what the fields say; values that are wrong are left as they were."""
        raise NotImplementedError

    def wrong(self) -> int:
        """How many fields are wrong; each says so."""
        return all_right(self.fields)

    def first_wrong(self) -> Field | None:
        """Where to begin mending."""
        return next((each for each in self.fields if not each.right()), None)

    def _own(self, made: Field) -> Field:
        made.setParent(self)
        made.changed.connect(self.changed)
        self.fields.append(made)
        return made


class KeysPage(SheetPage):
    """A section of keys that come once: each with its unit and what it means."""

    def __init__(self, section: str) -> None:
        super().__init__(section)
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(3)
        grid.setColumnStretch(1, 1)
        for number, key in enumerate(each for each in SINGLE if each.section == section):
            made = self._own(field(key))
            caption = QLabel(tr(key.label))
            caption.setBuddy(made.widget)
            row = 4 * number
            grid.addWidget(caption, row, 0)
            grid.addWidget(beside(made, key.unit), row, 1)
            grid.addWidget(Text(tr(key.explanation), tone="muted", wrap=True), row + 1, 1)
            grid.addWidget(made.fault, row + 2, 1)
            grid.setRowMinimumHeight(row + 3, 8)
        self.column.addLayout(grid)
        self.column.addStretch(1)

    def show_draft(self, draft: SheetDraft) -> None:
        """Show what the sheet says."""
        for each in self.fields:
            each.show_value(draft.value(*each.key.path))

    def put_into(self, draft: SheetDraft) -> None:
        """Say in the sheet what the fields say."""
        for each in self.fields:
            if each.right():
                draft.set(*each.key.path, each.value())


class MetersPage(SheetPage):
    """How good each meter is: a line per channel."""

    def __init__(self, channels: Sequence[str]) -> None:
        super().__init__("meters")
        self.keys = [each for each in REPEATED if each.section == "meters"]
        for key in self.keys:
            line = Phrase("{label}: {explanation}", label=tr(key.label), explanation=tr(key.explanation))
            self.column.addWidget(Text(str(line), tone="muted", wrap=True))
        self.grid = QGridLayout()
        self.grid.setHorizontalSpacing(16)
        self.grid.setVerticalSpacing(6)
        self.grid.setColumnStretch(1 + len(self.keys), 1)
        for column, key in enumerate(self.keys, start=1):
            self.grid.addWidget(Text(tr(key.label), bold=True), 0, column)
        self.meters: dict[str, list[Field]] = {}
        for channel in channels:
            self._add(channel)
        self.column.addLayout(self.grid)
        self.column.addStretch(1)

    def show_draft(self, draft: SheetDraft) -> None:
        """Show what the sheet says; a meter that had no line yet gets one."""
        for channel in draft.channels("meters"):
            if channel not in self.meters:
                self._add(channel)
        for channel, fields in self.meters.items():
            said = draft.entry("meters", channel)
            for each in fields:
                each.show_value(said.get(each.key.key))

    def put_into(self, draft: SheetDraft) -> None:
        """Say in the sheet what the fields say."""
        for channel, fields in self.meters.items():
            values = {each.key.key: each.value() for each in fields if each.right()}
            draft.set_meter(channel, values)

    def _add(self, channel: str) -> None:
        row = 2 * len(self.meters) + 1
        made = [self._own(field(key, f"{label(channel)}, {tr(key.label)}")) for key in self.keys]
        self.meters[channel] = made
        caption = QLabel(label(channel))
        caption.setBuddy(made[0].widget)
        self.grid.addWidget(caption, row, 0)
        for column, each in enumerate(made, start=1):
            self.grid.addWidget(beside(each, each.key.unit), row, column)
            self.grid.addWidget(each.fault, row + 1, column)


class ColumnsPage(SheetPage):
    """The rules for columns, as they stand, and the way to where they are changed.

    asked  the user wants to change them
    """

    asked = Signal()

    def __init__(self) -> None:
        super().__init__("columns")
        how = tr(
            "Where the reading of a log's columns errs, a rule says better. Rules are made while looking at the "
            "log itself."
        )
        self.column.addWidget(Text(how, tone="muted", wrap=True))
        self.rules = Text(wrap=True)
        self.column.addWidget(self.rules)
        self.button = QPushButton(tr("&Look at the columns…"))
        self.button.clicked.connect(self.asked)
        self.column.addWidget(self.button, 0, Qt.AlignmentFlag.AlignLeft)
        self.column.addStretch(1)

    def show_draft(self, draft: SheetDraft) -> None:
        """Show what the sheet says."""
        lines = [_told(channel, draft.entry("columns", channel)) for channel in draft.channels("columns")]
        self.rules.show_text(
            "\n".join(lines) or tr("There are no rules: the columns are read as they are named.")
        )

    def put_into(self, draft: SheetDraft) -> None:
        """Nothing is changed here."""


class DevicesPage(SheetPage):
    """The devices of a plant that is watched live."""

    def __init__(self) -> None:
        super().__init__("device")
        self.keys: list[Key] = [each for each in REPEATED if each.section == "device"]
        for key in self.keys:
            line = Phrase("{label}: {explanation}", label=tr(key.label), explanation=tr(key.explanation))
            self.column.addWidget(Text(str(line), tone="muted", wrap=True))
        self.devices: list[_Device] = []
        self.rows = QVBoxLayout()
        self.rows.setSpacing(14)
        self.column.addLayout(self.rows)
        self.add = QPushButton(tr("Add a de&vice"))
        self.add.clicked.connect(self._add_one)
        self.column.addWidget(self.add, 0, Qt.AlignmentFlag.AlignLeft)
        self.column.addStretch(1)

    def show_draft(self, draft: SheetDraft) -> None:
        """Show what the sheet says."""
        for device in list(self.devices):
            self._drop(device)
        for said in draft.devices():
            self._add(said)

    def put_into(self, draft: SheetDraft) -> None:
        """Say in the sheet what the fields say; devices without a source are left out."""
        said = [device.said() for device in self.devices]
        draft.set_devices([each for each in said if "source" in each])

    def _add_one(self) -> None:
        self._add({}).fields[0].widget.setFocus()
        self.changed.emit()

    def _add(self, said: dict[str, Any]) -> _Device:
        device = _Device(self.keys, len(self.devices) + 1)
        for each in device.fields:
            # It goes together with its device.
            self._own(each).setParent(device)
            each.show_value(said.get(each.key.key))
        device.remove.clicked.connect(lambda: self._remove(device))
        self.devices.append(device)
        self.rows.addWidget(device)
        return device

    def _remove(self, device: _Device) -> None:
        self._drop(device)
        self.add.setFocus()
        self.changed.emit()

    def _drop(self, device: _Device) -> None:
        self.devices.remove(device)
        self.rows.removeWidget(device)
        self.fields = [each for each in self.fields if each not in device.fields]
        device.hide()
        device.deleteLater()


class EntriesPage(SheetPage):
    """A section that comes more than once: refills, appliances."""

    def __init__(self, section: str) -> None:
        super().__init__(section)
        self.editor = EntriesEditor(section)
        self.editor.changed.connect(self._changed)
        self.column.addWidget(self.editor)
        self.column.addStretch(1)

    def show_draft(self, draft: SheetDraft) -> None:
        """Show what the sheet says."""
        self.editor.show_entries(draft.entries(self.section))
        self.fields = self.editor.fields

    def put_into(self, draft: SheetDraft) -> None:
        """Say in the sheet what the fields say; values that are wrong are left out, and what lacks a needed one."""
        draft.set_entries(self.section, self.editor.entries())

    def _changed(self) -> None:
        self.fields = self.editor.fields
        self.changed.emit()


class _Device(QWidget):
    def __init__(self, keys: Sequence[Key], number: int) -> None:
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(16)
        grid.setColumnStretch(1, 1)
        called = str(Phrase("Device {number}", number=str(number)))
        grid.addWidget(Text(called, bold=True), 0, 0)
        self.remove = QPushButton(tr("Remove"))
        self.remove.setAccessibleName(str(Phrase("Remove device {number}", number=str(number))))
        grid.addWidget(self.remove, 0, 1, Qt.AlignmentFlag.AlignLeft)
        self.fields = [field(key, f"{called}, {tr(key.label)}") for key in keys]
        for row, each in enumerate(self.fields, start=1):
            caption = QLabel(tr(each.key.label))
            caption.setBuddy(each.widget)
            grid.addWidget(caption, row, 0)
            grid.addWidget(beside(each, each.key.unit), row, 1)

    def said(self) -> dict[str, str]:
        values = {each.key.key: each.value() for each in self.fields}
        return {key: value for key, value in values.items() if value is not None}


def pages(channels: Sequence[str]) -> dict[str, SheetPage]:
    """Section → its page, in the order in which they are shown; `channels` are those of the recording."""
    powers = [name for name in POWERS if name in channels]
    others = [name for name in POWERS if name not in channels]
    made: dict[str, SheetPage] = {
        "meters": MetersPage(powers + others),
        "columns": ColumnsPage(),
        "device": DevicesPage(),
    }
    once = {key.section for key in SINGLE}
    return {
        section: made.get(section) or (KeysPage if section in once else EntriesPage)(section)
        for section in SECTIONS
    }


def _told(channel: str, rule: dict[str, Any]) -> str:
    """A rule in words."""
    name = label(channel)
    if not rule["column"]:
        return str(Phrase("{channel}: not in this log", channel=name))
    parts = [f"“{rule['column']}”"]
    if rule.get("less"):
        parts.append(str(Phrase("less “{column}”", column=rule["less"])))
    if rule.get("unit"):
        parts.append(str(Phrase("in {unit}", unit=rule["unit"])))
    if rule.get("sign") == -1:
        parts.append(tr("counted the other way round"))
    if rule.get("scale") is not None:
        parts.append(str(Phrase("times {factor}", factor=numbers.shown(rule["scale"]))))
    if rule.get("offset"):
        unit = CHANNELS[channel].unit
        parts.append(str(Phrase("plus {offset} {unit}", offset=numbers.shown(rule["offset"]), unit=unit)))
    return f"{name}: {', '.join(parts)}"
