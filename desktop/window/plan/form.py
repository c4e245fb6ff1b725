"""The form of a plan: what a person may say beside sheet and recording. What is left empty is left to them."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QVBoxLayout, QWidget

from desktop.charging.fuel.curve import fuel_unit
from desktop.charging.outlook.choice import MOST_STARTS
from desktop.charging.outlook.outlook import HORIZON
from desktop.charging.outlook.planning import Wishes
from desktop.sheet import numbers
from desktop.site import Appliance, Site
from desktop.window.evidence.page import head
from desktop.window.parts.text import Text
from desktop.window.plan.lines import HoursLine, NumberLine, all_right
from desktop.window.sheet.entries import EntriesEditor
from desktop.words import template, tr

_MOST_DAYS = 366.0
_QUIET = (22, 7)


class PlanForm(QWidget):
    """Fields and what they say.

    changed  the user changed something
    """

    changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        usual, sheet = tr("usual ones"), tr("as on the sheet")
        self.overcast = NumberLine(tr("S&un that comes, of what was recorded"), "%", (0.0, 300.0), "100")
        self.sun_hours = NumberLine(
            tr("Hours of full sun a day, in place of the recorded"), "h", (0.0, 24.0), tr("as recorded")
        )
        self.fuel = NumberLine(tr("&Fuel at hand"), "L", (0.01, 1e6), sheet)
        self.days = NumberLine(tr("&Days"), "", (1.0, _MOST_DAYS), numbers.shown(HORIZON), whole=True)
        self.soc = NumberLine(
            tr("State of &charge at the beginning"), "%", (0.0, 100.0), tr("as recorded last")
        )
        self.most_starts = NumberLine(tr("&Most starts a day"), "", (0.1, 48.0), numbers.shown(MOST_STARTS))
        self.starts = NumberLine(tr("Start &at"), "%", (0.0, 99.0), usual, several=True)
        self.stops = NumberLine(tr("Stop a&t"), "%", (1.0, 100.0), usual, several=True)
        self.limits = NumberLine(tr("AC &input limit"), "A", (0.1, 1e4), usual, several=True)
        self.quiet = HoursLine(tr("&Quiet hours: the generator must not run"), _QUIET)
        self.run = HoursLine(tr("Compare with &running every day"), (9, 12))
        self.typed = QCheckBox(tr("These a&ppliances in place of the recorded load"))
        self.appliances = EntriesEditor("appliance", explained=False)
        self.typed.toggled.connect(self.appliances.setVisible)
        self.typed.toggled.connect(self.changed)
        self.appliances.changed.connect(self.changed)
        self.appliances.hide()
        self.lines = (
            self.overcast, self.sun_hours, self.fuel, self.days, self.soc,
            self.most_starts, self.starts, self.stops, self.limits,
        )  # fmt: skip
        self._recorded = True
        self._lay_out()

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 8)
        column.setSpacing(10)
        how = tr("What is left empty is taken from the recording and the site sheet.")
        column.addWidget(Text(how, tone="muted", wrap=True))
        parts: tuple[QWidget, ...] = (
            self.overcast, self.fuel, self.days, self.quiet, self.most_starts,
            head(template("What to compare")), self.starts, self.stops, self.limits, self.run,
            head(template("What to begin with")), self.soc, self.sun_hours, self.typed, self.appliances,
        )  # fmt: skip
        for part in parts:
            column.addWidget(part)
        column.addStretch(1)
        for line in self.lines:
            line.changed.connect(self.changed)

    def show_site(self, site: Site, recorded: bool) -> None:
        """What the sheet gives.

        recorded  whether there is a recording to plan from; else the appliances tell the load
        """
        self._recorded = recorded
        self.fuel.unit.show_text(fuel_unit(site) or "L")
        self.typed.setEnabled(recorded)
        if not recorded:
            self.typed.setChecked(True)
        if not self.appliances.rows:
            self.appliances.show_entries(
                [each.model_dump(exclude_none=True, exclude_unset=True) for each in site.appliance]
            )

    def right(self) -> bool:
        """Whether all of it says what it should; what doesn't says so."""
        good = all_right(self.lines)
        return good and not (self.typed.isChecked() and self.appliances.wrong())

    def wishes(self) -> Wishes:
        """What it says."""
        overcast, run = self.overcast.value(), self.run.hours()
        days, most = self.days.value(), self.most_starts.value()
        return Wishes(
            overcast=1.0 if overcast is None else overcast / 100,
            fuel=self.fuel.value(),
            soc=self.soc.value(),
            days=HORIZON if days is None else int(days),
            quiet=self.quiet.hours(),
            starts=self.starts.values() or (),
            stops=self.stops.values() or (),
            limits=self.limits.values() or (),
            runs=() if run is None else (run,),
            appliances=self._appliances(),
            sun_hours=self.sun_hours.value(),
            most_starts=MOST_STARTS if most is None else most,
        )

    def _appliances(self) -> tuple[Appliance, ...] | None:
        if not self.typed.isChecked():
            return None
        return tuple(Appliance.model_validate(each) for each in self.appliances.entries())
