"""The dialog that connects: where to look, what answers, what it is, and where that is written down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QStandardPaths, Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QHBoxLayout,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from desktop.window.live.connect.address import AddressForm
from desktop.window.live.connect.devices import DeviceCard
from desktop.window.live.connect.looker import Look, Looker
from desktop.window.live.connect.target import save, source_in_role
from desktop.window.live.wish import Wish
from desktop.window.parts.scrolled import Scrolled, comfortable
from desktop.window.parts.text import Text
from desktop.window.parts.told import Told
from desktop.window.settings import Settings
from desktop.words import Phrase, template, tr
from recordings.errors import HeadraceError

if TYPE_CHECKING:
    from drivers.probe.found import Found, FoundDevice

_PROMISE = template("Headrace only reads. It sends nothing but requests to read, and only to this address.")


class ConnectDialog(QDialog):
    """Finds devices and writes them into a site sheet.

    watch_asked  the user wants to watch what was written (Wish)
    """

    watch_asked = Signal(object)

    def __init__(self, settings: Settings, parent: QWidget | None = None, look: Look | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Connect"))
        self._found: Found | None = None
        self._testing = False
        self.looker = Looker(self, look)
        self.cards: list[DeviceCard] = []
        self.form = AddressForm()
        self.told = Told(1.0)
        self.look = QPushButton(tr("Look"))
        self.cancel = QPushButton(tr("Cancel the look"))
        self.test = QPushButton(tr("Read again"))
        self.bar = QProgressBar()
        self.bar.setRange(0, 0)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName(tr("Progress"))
        usual = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
        self.sheet = QLineEdit(str(Path(settings.folder or usual or ".").absolute() / "plant.toml"))
        self.sheet.setAccessibleName(tr("Site sheet"))
        self.browse = QPushButton(tr("Choose…"))
        self.browse.setAccessibleName(tr("Choose a site sheet"))
        self._lay_out()
        self._connect()
        self._show_looking(False)
        self.told.say(None, "")
        self._show_choice()
        self.form.host.setFocus()
        self.resize(comfortable(self, 760, 640))

    # What the user does

    def start_look(self) -> None:
        """Look at the address that is filled in."""
        address = self.form.target().address
        if not address:
            self.told.say("attend", tr("Say first where the devices are."))
            self.form.host.setFocus()
            return
        self._testing = False
        self._show_looking(True)
        self.told.say(None, str(Phrase("Looking at {address}", address=address)))
        self.looker.look([address])

    def start_test(self) -> None:
        """Read the chosen devices again, in the roles that were chosen for them."""
        self._testing = True
        self._show_looking(True)
        self.looker.look(
            [source_in_role(card.device, card.chosen_role) for card in self.cards if card.chosen]
        )

    def stop_look(self) -> None:
        """Look no further."""
        self.looker.stop()
        self._show_looking(False)
        self.told.say(None, tr("The look was cancelled."))

    def accept(self) -> None:
        """Write the chosen devices, and watch them."""
        if self._found is None:
            return
        path = Path(self.sheet.text().strip()).expanduser()
        try:
            save(self._found, {card.device.source: card.chosen_role for card in self._chosen()}, path)
        except HeadraceError as error:
            self.told.say("attend", str(error))
            return
        super().accept()
        self.watch_asked.emit(Wish(str(path)))

    def done(self, result: int) -> None:
        """No thread is left behind."""
        self.looker.close()
        super().done(result)

    # What is found

    def _show_found(self, found: Sequence[Found]) -> None:
        self._show_looking(False)
        if self._testing:
            self._show_tested(found)
            return
        self._found = found[0]
        for card in self.cards:
            card.deleteLater()
        self.cards = []
        for device in self._found.devices:
            card = DeviceCard(device)
            card.changed.connect(self._show_choice)
            self.cards.append(card)
            self._listed.addWidget(card)
        if self._found.problem:
            self.told.say("attend", self._found.problem)
        else:
            count = len(self.cards)
            text = Phrase("Devices that answer: {count}. Say what each of them is.", count=str(count))
            self.told.say(None, "\n".join([str(text), *self._found.notes]))
        self._show_choice()
        if self.cards:
            self.cards[0].use.setFocus()

    def _show_tested(self, found: Sequence[Found]) -> None:
        fresh = {(device.unit, device.map): device for each in found for device in each.devices}
        silent = [each.problem for each in found if each.problem]
        for card in self._chosen():
            device = fresh.get((card.device.unit, card.device.map))
            if device is not None:
                card.show_device(_as_known(device, card.device))
        if silent:
            self.told.say("attend", silent[0])
        else:
            self.told.say(None, tr("Read again just now."))

    def _show_choice(self) -> None:
        """Offer what can be done."""
        chosen = self._chosen()
        waiting = [card for card in self.cards if card.use.isChecked() and not card.chosen]
        self.found_parts.setVisible(bool(self.cards))
        self.test.setEnabled(bool(chosen))
        self.watch.setEnabled(bool(chosen) and not waiting)
        (self.watch if self.watch.isEnabled() else self.look).setDefault(True)

    def _chosen(self) -> list[DeviceCard]:
        return [card for card in self.cards if card.chosen]

    def _show_looking(self, looking: bool) -> None:
        had_focus = self.look.hasFocus() or self.cancel.hasFocus()
        self.bar.setVisible(looking)
        self.cancel.setVisible(looking)
        self.look.setEnabled(not looking)
        self.test.setEnabled(not looking and bool(self._chosen()))
        if had_focus:
            (self.cancel if looking else self.look).setFocus()

    def _ask_sheet(self) -> None:
        dialog = QFileDialog(self, tr("Write the devices into"), str(Path(self.sheet.text()).parent))
        dialog.setNameFilters([tr("Site sheets (*.toml)"), tr("All files (*)")])
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("toml")
        # A sheet that is there already gets these devices; all else in it stays.
        dialog.setOption(QFileDialog.Option.DontConfirmOverwrite)
        dialog.fileSelected.connect(self.sheet.setText)
        dialog.open()

    # Putting together

    def _connect(self) -> None:
        self.form.entered.connect(self.start_look)
        self.look.clicked.connect(self.start_look)
        self.cancel.clicked.connect(self.stop_look)
        self.test.clicked.connect(self.start_test)
        self.browse.clicked.connect(self._ask_sheet)
        self.looker.progressed.connect(self._progress)
        self.looker.found.connect(self._show_found)

    def _progress(self, what: str) -> None:
        self.told.say(None, str(Phrase("Looking: {what}", what=what)))

    def _lay_out(self) -> None:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(10)
        column.addWidget(Text(tr(_PROMISE), wrap=True, tone="muted"))
        column.addWidget(self.form)
        row = QHBoxLayout()
        for part in (self.look, self.cancel):
            row.addWidget(part)
        row.addWidget(self.bar, 1)
        row.addStretch(1)
        column.addLayout(row)
        column.addWidget(self.told)
        column.addWidget(self._found_parts())
        column.addStretch(1)
        kinds = QDialogButtonBox.StandardButton
        self.buttons = QDialogButtonBox(kinds.Ok | kinds.Close)
        self.watch = self.buttons.button(kinds.Ok)
        self.watch.setText(tr("Save and watch"))
        self.buttons.button(kinds.Close).setText(tr("Close"))
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        whole = QVBoxLayout(self)
        whole.addWidget(Scrolled(inside, tr("Connect")), 1)
        whole.addWidget(self.buttons)

    def _found_parts(self) -> QWidget:
        self.found_parts = QWidget()
        column = QVBoxLayout(self.found_parts)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(10)
        self._listed = QVBoxLayout()
        self._listed.setSpacing(8)
        column.addLayout(self._listed)
        row = QHBoxLayout()
        row.addWidget(self.test)
        row.addStretch(1)
        column.addLayout(row)
        column.addWidget(
            Text(tr("Write them into this site sheet; one that is there keeps all else:"), wrap=True)
        )
        where = QHBoxLayout()
        where.addWidget(self.sheet, 1)
        where.addWidget(self.browse)
        column.addLayout(where)
        return self.found_parts


def _as_known(fresh: FoundDevice, known: FoundDevice) -> FoundDevice:
    """A device as it was read now, with the address and the guess that it was found with."""
    return replace(fresh, source=known.source, role=known.role, why=known.why, roles=known.roles)
