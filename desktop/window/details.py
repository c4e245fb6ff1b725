"""The review as text, and how the recording was read: to be looked through, and copied."""

from __future__ import annotations

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QPlainTextEdit, QVBoxLayout, QWidget

from desktop.channel_names import CHANNEL_NAMES
from desktop.review import Review
from desktop.words import Phrase, template, tr
from recordings.provenance import Provenance


class DetailsBox(QDialog):
    """Shows a review as text."""

    def __init__(self, review: Review, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Review as text"))
        self.text = QPlainTextEdit("\n".join([review.as_text(), how_read(review.recording.provenance)]))
        self.text.setReadOnly(True)
        self.text.setAccessibleName(tr("Review as text"))
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        self.copy = buttons.addButton(tr("Copy all"), QDialogButtonBox.ButtonRole.ActionRole)
        self.copy.clicked.connect(lambda: QGuiApplication.clipboard().setText(self.text.toPlainText()))
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(self.text)
        column.addWidget(buttons)
        metrics = self.fontMetrics()
        self.resize(metrics.averageCharWidth() * 110, metrics.lineSpacing() * 34)


def how_read(provenance: Provenance) -> str:
    """Which column became which channel and why, what was mended, and what was left out, as lines."""
    lines = [tr("How the recording was read")]
    for channel, reading in provenance.columns.items():
        name = tr(CHANNEL_NAMES[channel])
        sign = tr("counted the other way round") if reading.sign < 0 else ""
        parts = [part for part in (reading.unit, sign, reading.how) if part]
        lines.append(f"  {name}: “{reading.column}” ({', '.join(parts)})")
    repairs = provenance.repairs
    counts = {
        template("{count} rows were there twice."): repairs.duplicates,
        template("{count} rows were out of order."): repairs.out_of_order,
        template("{count} cells could not be read."): repairs.bad_cells,
        template("{count} rows could not be read."): repairs.bad_rows,
    }
    lines += [f"  {Phrase(text, count=str(count))}" for text, count in counts.items() if count]
    lines += [f"  {note}" for note in repairs.notes]
    if provenance.ignored:
        left_out = Phrase("Left out: {columns}.", columns=", ".join(provenance.ignored))
        lines.append(f"  {left_out}")
    return "\n".join(lines) + "\n"
