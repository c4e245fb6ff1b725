"""This charge session: what the generator gave since it took load, and where it went."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QPushButton, QWidget

from desktop.charging.sessions import Session
from desktop.review.foresight import Foresight
from desktop.review.moment import Moment
from desktop.window.parts.panel import Panel
from desktop.window.parts.text import Text
from desktop.window.parts.times import Times
from desktop.words import Phrase, template, tr

_SECOND = 1e9
_STOPS = {
    "normal": template("Stopped after unloading"),
    "under load": template("Stopped under load"),
    "dry tank": template("Stopped: the tank was dry"),
    "unclear": template("How it stopped is not clear"),
    "still running": template("Still running"),
}


class SessionPanel(Panel):
    """Shows the session that the cursor is in, else the last one before it, and where the nearest one is.

    asked   the user wants to go to an instant (int, UTC nanoseconds)
    """

    asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(tr("This charge session"), parent)
        self._times = Times()
        self._sessions: Sequence[Session] = ()
        self._whole = True
        self.span = Text(tone="muted", wrap=True)
        self.body.addWidget(self.span)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(3)
        self._grid.setColumnStretch(0, 1)
        self.body.addLayout(self._grid)
        self.lines: list[tuple[Text, Text]] = []
        self.go = QPushButton()
        self.go.clicked.connect(self._go)
        self.body.addWidget(self.go, 0, Qt.AlignmentFlag.AlignLeft)
        self.body.addStretch(1)
        self._target: int | None = None
        self._session: Session | None = None
        self._foresight: Foresight | None = None
        self._lines: list[tuple[str, str]] = []

    def set_sessions(self, sessions: Sequence[Session], times: Times, whole: bool = True) -> None:
        """The sessions of the recording, and the site's clock. `whole`: these are all, up to its end."""
        self._sessions, self._times, self._whole = sessions, times, whole

    def show_moment(self, moment: Moment) -> None:
        """Show the session of a moment."""
        session = moment.session
        if session is None:
            self._foresight = None
        self._session = session
        told = self._before(moment) if session is None else session
        self._lines = [] if told is None else _lines(told, _has_solar(moment))
        self._fill(self._lines + self._ahead())
        self._target = None
        if session is not None:
            self.span.show_text(self._span(session, moment))
        else:
            self._show_none(told, moment)
        self.go.setVisible(self._target is not None)

    def show_foresight(self, foresight: Foresight | None) -> None:
        """Add the fuel, as of about the moment that is shown; None where nothing is known of it."""
        self._foresight = foresight
        self._fill(self._lines + self._ahead())

    def _ahead(self) -> list[tuple[str, str]]:
        foresight, session = self._foresight, self._session
        if foresight is None or session is None:
            return []
        return [(str(what), str(much)) for what, much in foresight.fuel_lines(session, self._times.zone)]

    def _before(self, moment: Moment) -> Session | None:
        """The last session that is over at a moment: what it came to can be told from then on."""
        over = [each for each in self._sessions if each.end <= moment.time and each.stop != "still running"]
        return max(over, key=lambda each: each.end, default=None)

    def _show_none(self, before: Session | None, moment: Moment) -> None:
        """Say that no session is on, which was the last, and where the nearest is."""
        if not self._sessions:
            self.span.show_text(
                tr("In this recording the generator carries no load.")
                if self._whole
                else tr("Up to this time the generator has carried no load.")
            )
            return
        nearest = min(self._sessions, key=lambda each: _distance(each, moment.time))
        self._target = nearest.start
        none = tr("At this time the generator carries no load.")
        if before is not None:
            last = Phrase("The last session, {span}:", span=self._span(before, moment))
            none = f"{none} {last}"
        self.span.show_text(none)
        at = self._times(nearest.start, seconds=False)
        self.go.setText(str(Phrase("Go to the session at {time}", time=at)))

    def _span(self, session: Session, moment: Moment) -> str:
        start = self._times(session.start, seconds=False)
        end = self._times.clock(min(session.end, moment.time))[:5]
        seconds = (min(session.end, moment.time) - session.start) / _SECOND
        return str(Phrase("{start} to {end}, {span:time}", start=start, end=end, span=seconds))

    def _fill(self, lines: list[tuple[str, str]]) -> None:
        while len(self.lines) < len(lines):
            label, value = Text(), Text()
            value.setAlignment(Qt.AlignmentFlag.AlignRight)
            row = len(self.lines)
            self._grid.addWidget(label, row, 0)
            self._grid.addWidget(value, row, 1)
            self.lines.append((label, value))
        for number, (label, value) in enumerate(self.lines):
            shown = number < len(lines)
            label.setVisible(shown)
            value.setVisible(shown)
            if shown:
                label.show_text(lines[number][0])
                value.show_text(lines[number][1])
                value.setAccessibleName(" ".join(lines[number]).strip())

    def _go(self) -> None:
        if self._target is not None:
            self.asked.emit(self._target)


def _has_solar(moment: Moment) -> bool:
    return any(moment.streams[name].knowledge != "absent" for name in ("solar", "solar_ac"))


def _distance(session: Session, instant: int) -> int:
    return max(session.start - instant, instant - session.end, 0)


def _lines(session: Session, has_solar: bool) -> list[tuple[str, str]]:
    """Label and value of every line that there is something to say in."""
    indent = "    "
    lines = [
        (tr("From the generator"), _energy(session.generator_wh)),
        (indent + tr("to the house"), _energy(session.to_load_wh)),
        (indent + tr("into the battery"), _energy(session.to_battery_wh)),
        (indent + tr("lost"), _energy(session.losses_wh)),
    ]
    if has_solar:
        lines.append((tr("From solar into the battery"), _energy(session.solar_to_battery_wh)))
    if not (math.isnan(session.soc_start) or math.isnan(session.soc_end)):
        levels = Phrase("{start:%} → {end:%}", start=session.soc_start, end=session.soc_end)
        lines.append((tr("Battery"), str(levels)))
    if not math.isnan(session.mean_load_share):
        share = Phrase("{share:%}", share=100 * session.mean_load_share)
        lines.append((tr("Mean load of its rating"), str(share)))
    if not math.isnan(session.peak_input_a):
        lines.append((tr("Highest input current"), str(Phrase("{peak:A}", peak=session.peak_input_a))))
    lines.append((tr("End"), tr(_STOPS[session.stop])))
    return lines


def _energy(watt_hours: float) -> str:
    return str(Phrase("{energy:Wh}", energy=watt_hours))
