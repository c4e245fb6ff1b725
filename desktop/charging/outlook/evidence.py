"""What a recording tells an outlook: the minute book, the battery, the fuel."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from desktop.charging.battery.book import BatteryBook
from desktop.charging.battery.facts import BatteryFacts
from desktop.charging.battery.judgement import judge_battery
from desktop.charging.fuel.curve import FuelCurve
from desktop.charging.fuel.running import running
from desktop.charging.fuel.state import fuel_at
from desktop.charging.fuel.tank import TankLeft
from desktop.flow.learned import Learned, learn
from desktop.flow.minutes import Minutes
from desktop.flow.worker import AT_ONCE, Worker
from desktop.site import Site
from recordings.recording import Recording

_CHARGING_SHARE = 0.3
_TURNED_OVER = 4.0
_LEAST_ROUND_TRIP = 0.5


@dataclass(frozen=True, slots=True)
class Evidence:
    """A recording, as far as an outlook needs it.

    curve  None where neither the sheet nor a published line tells
    tank   what is left; None where nothing tells
    """

    minutes: Minutes
    learned: Learned
    battery: BatteryFacts
    curve: FuelCurve | None
    tank: TankLeft | None

    @property
    def soc(self) -> float | None:
        """The last reported state of charge, %; None where none was."""
        soc = self.minutes.channel("battery_soc")
        known = soc[np.isfinite(soc)]
        return float(known[-1]) if known.size else None

    def round_trip(self, capacity_wh: float) -> float | None:
        """What the battery gave back of what it took over the whole recording; None where that tells too little.

        What it holds more or less at the end is reckoned in by the state of charge. That is told to a few percent
        of the capacity, so it is only worth something where the battery was turned over several times.
        """
        soc, into = self.minutes.channel("battery_soc"), self.battery.energy_in_wh
        known = soc[np.isfinite(soc)]
        if not (known.size and into >= _TURNED_OVER * capacity_wh):
            return None
        share = (self.battery.energy_out_wh + (known[-1] - known[0]) / 100 * capacity_wh) / into
        return float(share) if _LEAST_ROUND_TRIP <= share <= 1 else None

    @property
    def charging_v(self) -> float | None:
        """The battery's median voltage while it takes much, V; None where that isn't known."""
        power, volts = self.minutes.stream("battery"), self.minutes.channel("battery_voltage")
        known = np.isfinite(power) & np.isfinite(volts)
        if not known.any():
            return None
        much = known & (power > _CHARGING_SHARE * power[known].max())
        return float(np.median(volts[much])) if much.any() and volts[much].min() > 1 else None

    @property
    def coldest_c(self) -> float | None:
        """The lowest battery temperature, °C; None where none was read."""
        celsius = self.minutes.channel("battery_temperature")
        return float(np.nanmin(celsius)) if np.isfinite(celsius).any() else None


def gather(recording: Recording, site: Site, progress: Callable[[float], None] | None = None) -> Evidence:
    """Work a recording through.

    progress  is told the share that is done, 0..1
    """
    learned = learn(recording, site)
    worker, minutes, book = Worker(learned, site), Minutes(), BatteryBook(learned, site)
    for start in range(0, len(recording), AT_ONCE):
        stop = min(start + AT_ONCE, len(recording))
        block = worker.work(recording, start, stop)
        minutes.extend(block)
        book.extend(block)
        if progress is not None:
            progress(stop / len(recording))
    curve, tank = fuel_at(minutes, running(minutes, learned, site), site)
    return Evidence(minutes, learned, judge_battery(book.snapshot(), learned, site), curve, tank)
