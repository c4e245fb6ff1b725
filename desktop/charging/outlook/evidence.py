"""What a recording tells an outlook: the minute book, the battery, the fuel."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.book import BatteryBook
from desktop.charging.battery.chemistry import chemistry_of
from desktop.charging.battery.facts import BatteryFacts
from desktop.charging.battery.judgement import judge_battery
from desktop.charging.forecast.ceilings import UNSEEN_INPUT
from desktop.charging.fuel.curve import FuelCurve
from desktop.charging.fuel.running import running, spans
from desktop.charging.fuel.state import fuel_at
from desktop.charging.fuel.tank import TankLeft
from desktop.charging.stops import carrying_w
from desktop.flow.learned import Learned, learn
from desktop.flow.minutes import Minutes
from desktop.flow.worker import AT_ONCE, Worker
from desktop.site import Site
from recordings.channels import LEGS
from recordings.recording import Recording

Floats = NDArray[np.float64]

_CHARGING_SHARE = 0.3
_TURNED_OVER = 1.5
"""The gauge's error at both ends weighs little against so much; what is usual of a chemistry is known worse."""
_LEAST_ROUND_TRIP, _MOST_ROUND_TRIP = 0.5, 1.05
"""A little more than all may seem to come back where meters err; beyond that they tell nothing."""

_FREE, _SETTLED, _LEAST_HELD, _EARLY_SOC = 0.9, 4, 30, 65.0
"""A charge below this share of all other limits is held by the input limit: minutes from start and stop, how many
there must be, and up to which state of charge, percent."""

_FARTHEST_LOSS = 3.0
_RUNNING_A = 1.0


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
        of the capacity, so it is only worth something where the battery was turned over. Reconciled power is
        counted, as load and sun are: so what is reckoned from all of them burns what was burnt.
        """
        soc, (into, out) = self.minutes.channel("battery_soc"), self.turned_wh
        known = soc[np.isfinite(soc)]
        if not (known.size and into >= _TURNED_OVER * capacity_wh):
            return None
        share = (out + (known[-1] - known[0]) / 100 * capacity_wh) / into
        return float(min(share, 1.0)) if _LEAST_ROUND_TRIP <= share <= _MOST_ROUND_TRIP else None

    @property
    def turned_wh(self) -> tuple[float, float]:
        """What went into the battery and out of it, Wh."""
        wh = self.minutes.stream("battery") * self._hours
        return float(np.nansum(np.maximum(wh, 0.0))), float(np.nansum(np.maximum(-wh, 0.0)))

    @property
    def counted_h(self) -> float:
        """For how long the battery's power is known, h."""
        return float(self._hours[np.isfinite(self.minutes.stream("battery"))].sum())

    @property
    def _hours(self) -> Floats:
        """(m,) for how long each minute's mean stands, h."""
        return spans(self.minutes.time, self.minutes.width_s, self.learned) / 3600

    def loss_share(self) -> float | None:
        """What the converter lost over the whole recording, as a share of what its law says; None where nothing
        tells.

        Each row's loss is the law's and the meters' word together. Where those see more or less than the law all
        the time, the law is off.
        """
        law, minutes = self.learned.conversion, self.minutes
        lost, ac, dc = (minutes.stream(name) for name in ("loss", "converter_ac", "converter_dc"))
        by_law = law.idle_w + law.slope * np.maximum(np.maximum(ac, -dc), 0.0)
        known = np.isfinite(lost) & np.isfinite(by_law)
        if not (known.any() and by_law[known].sum() > 0):
            return None
        share = float(lost[known].sum() / by_law[known].sum())
        return min(max(share, 1 / _FARTHEST_LOSS), _FARTHEST_LOSS)

    def uneven(self, legs: int, w_per_leg_a: float) -> float | None:
        """By what share of the load the busiest leg took more than its even share, for all legs together.

        None where the legs' currents aren't read.

        What charges is spread evenly: so what the legs differ by is the house.
        """
        if legs == 1:
            return 0.0
        each = np.array([self.minutes.channel(f"generator_current_{leg}") for leg in LEGS[:legs]])
        load = self.minutes.stream("load")
        running = np.isfinite(each).all(axis=0) & np.isfinite(load) & (each.max(axis=0) > _RUNNING_A)
        total = float(load[running].sum())
        if not total > 0:
            return None
        more = legs * each[:, running].max(axis=0) - each[:, running].sum(axis=0)
        return min(float(more.sum()) * w_per_leg_a / total, float(legs - 1))

    def uneven_by_limit(self, site: Site, w_per_a: float) -> float | None:
        """The same off how far the generator stayed below the input limit while nothing else held the charge.

        w_per_a  real power of one ampere on each leg, W

        None where the charger's limit isn't known, or the charge was hardly ever held so.
        """
        minutes, kind = self.minutes, chemistry_of(site.battery)
        source, load, battery = (minutes.stream(name) for name in ("generator", "load", "battery"))
        sun, dc_load = (np.nan_to_num(minutes.stream(name)) for name in ("solar", "dc_load"))
        volts, soc = minutes.channel("battery_voltage"), minutes.channel("battery_soc")
        limit_a = minutes.channel("input_limit")
        given = np.nan if site.input.limit_a is None else site.input.limit_a
        limit_w = w_per_a * np.where(np.isnan(limit_a), given, limit_a)
        most_a = site.charger.limit_a
        if most_a is None:
            return None
        free = (battery - sun + dc_load < _FREE * most_a * volts) & (battery > 0) & (load > 0)
        free &= battery < _FREE * (site.battery.max_charge_a or np.inf) * volts
        free &= soc < (_EARLY_SOC if kind is None else kind.taper_soc.low)
        if site.charger.rated_w is not None:
            free &= battery - sun + dc_load < _FREE * site.charger.rated_w
        running = source > carrying_w(site)
        for way in (1, -1):
            for apart in range(1, _SETTLED):
                free &= np.roll(running, way * apart)
        free &= running & np.isfinite(limit_w)
        if free.sum() < _LEAST_HELD:
            return None
        more = (UNSEEN_INPUT * limit_w[free] - source[free]) / load[free]
        return float(np.clip(np.median(more), 0.0, site.generator.legs - 1.0))

    def over_charge(self, share: Callable[[Floats], Floats]) -> float:
        """The mean, over all energy that went into the battery, of what depends on the state of charge it met.

        share  of (m,) states of charge, percent; NaN where nothing tells what went in at which
        """
        power, soc = self.minutes.stream("battery"), self.minutes.channel("battery_soc")
        into = np.isfinite(soc) & (power > 0)
        return float(np.average(share(soc[into]), weights=power[into])) if into.any() else float("nan")

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
