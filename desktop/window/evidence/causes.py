"""What led to a finding: the cause on top, the events in order, what can't be told, and what to do."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout

from desktop.diagnosis.causes.chain import Chain
from desktop.diagnosis.finding import SEVERITIES, Finding
from desktop.window.evidence.events import EventList
from desktop.window.evidence.page import LookPage, at_left, head, lines, way
from desktop.window.opening import Ready
from desktop.window.parts.told import Told
from desktop.window.sheet.fields import Choice
from desktop.window.style.look import look
from desktop.words import Phrase, kept_together, template, tr

_LIMIT = "limit"
PAGE_OF: dict[str, str] = {
    "meter_suspect": "meters",
    "power_unaccounted": "meters",
    "limit_above_rating": _LIMIT,
    "charger_idle": "settings",
    "battery_low": "battery",
    "soc_jump": "battery",
    "soc_disagrees": "battery",
    "generator_lightly_loaded": "fuel",
    "generator_short_cycle": "settings",
}
"""Where there is more to see of findings that call for no action now."""

_MORE: dict[str, tuple[str, str]] = {
    "input_over_limit": (template("What the input limit should be…"), _LIMIT),
    "generator_over_rating": (template("What the input limit should be…"), _LIMIT),
    "generator_stopped_under_load": (template("What the input limit should be…"), _LIMIT),
    "limit_above_rating": (template("What the input limit should be…"), _LIMIT),
    "charge_over_limit": (template("How the settings stand…"), "settings"),
    "battery_over_voltage": (template("How the settings stand…"), "settings"),
    "charging_while_cold": (template("How the settings stand…"), "settings"),
    "charger_idle": (template("How the settings stand…"), "settings"),
    "meter_suspect": (template("Which meter it is…"), "meters"),
    "power_unaccounted": (template("Which meter it is…"), "meters"),
    "soc_disagrees": (template("What the battery is like…"), "battery"),
    "soc_jump": (template("What the battery is like…"), "battery"),
}


class CausesPage(LookPage):
    """One finding at a time, the most urgent first."""

    def __init__(self) -> None:
        super().__init__(template("What led to it"))
        self.choice = Choice()
        self.choice.setSizeAdjustPolicy(Choice.SizeAdjustPolicy.AdjustToContents)
        self.choice.setAccessibleName(tr("Finding"))
        self.choice.activated.connect(self._choose)
        self.label = QLabel(tr("&Finding"))
        self.label.setBuddy(self.choice)
        row = QHBoxLayout()
        row.addWidget(self.label)
        row.addWidget(self.choice)
        row.addStretch(1)
        self.column.insertLayout(1, row)
        self._findings: Sequence[Finding] = ()
        self._key: tuple[str, int] | None = None
        self.cause = Told(1.2)
        self.events: EventList | None = None
        look().changed.connect(self._dress)

    def show_finding(self, finding: Finding) -> None:
        """Show what led to this one."""
        self._key = finding.kind, finding.start
        if self.ready is not None:
            self.show_ready(self.ready, self.times)

    def said(self, ready: Ready) -> object:
        """Findings, chains, and which is chosen."""
        return ready.review.findings, ready.review.chains, self._key

    def attention(self) -> int:
        """Findings that call for action now."""
        if self.ready is None:
            return 0
        return sum(each.severity == "act now" for each in self.ready.review.findings)

    def fill(self, column: QVBoxLayout, ready: Ready) -> None:
        """The chosen finding and its chain."""
        self._offer(ready)
        self.events = None
        finding = self._chosen()
        if finding is None:
            lines(column, [tr("Nothing was found that is wrong.")])
            return
        chain = next(
            (each for each in ready.review.chains if (each.finding, each.start) == _key(finding)), None
        )
        self.cause = Told(1.2)
        self.cause.say(finding.severity, kept_together(str(finding.cause or finding.text)))
        column.addWidget(self.cause)
        if finding.cause:
            lines(column, [finding.text], "muted")
        if chain is not None:
            self._fill_chain(column, chain)
        else:
            self._fill_bare(column, finding)
        column.addWidget(head(template("What to do")))
        lines(column, [finding.advice])
        if finding.kind in _MORE:
            at_left(column, way(self, *_MORE[finding.kind]))

    def _fill_chain(self, column: QVBoxLayout, chain: Chain) -> None:
        if chain.links:
            column.addWidget(head(template("What happened, in order")))
            self.events = EventList(chain.links, self.times)
            self.events.moved.connect(self.moved)
            column.addWidget(self.events)
        if chain.unknown or not chain.certain:
            column.addWidget(head(template("What the recording can't tell")))
            lines(column, chain.unknown or [tr("Whether that was the cause.")])

    def _fill_bare(self, column: QVBoxLayout, finding: Finding) -> None:
        go = QPushButton(str(Phrase("Go to {time}", time=self.times(finding.start))))
        go.clicked.connect(lambda: self.moved.emit(finding.start))
        at_left(column, go)

    def _offer(self, ready: Ready) -> None:
        """List the findings, the most urgent first."""
        self._findings = sorted(
            ready.review.findings, key=lambda each: (SEVERITIES.index(each.severity), each.start)
        )
        self.choice.clear()
        for each in self._findings:
            line = Phrase("{time}  {finding}", time=self.times(each.start), finding=each.title)
            self.choice.addItem(str(line))
        shown = bool(self._findings)
        self.choice.setVisible(shown)
        self.label.setVisible(shown)
        keys = [_key(each) for each in self._findings]
        self.choice.setCurrentIndex(keys.index(self._key) if self._key in keys else 0)
        self._dress()

    def _dress(self) -> None:
        """The choice is as wide as its longest finding."""
        self.choice.setMinimumWidth(0)
        self.choice.setMinimumWidth(self.choice.sizeHint().width())

    def _chosen(self) -> Finding | None:
        row = self.choice.currentIndex()
        return self._findings[row] if 0 <= row < len(self._findings) else None

    def _choose(self, row: int) -> None:
        self.show_finding(self._findings[row])
        self.choice.setFocus()


def _key(finding: Finding) -> tuple[str, int]:
    return finding.kind, finding.start
