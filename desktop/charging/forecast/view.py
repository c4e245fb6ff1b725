"""What the minute book tells of a charge up to an instant."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.battery.chemistry import LFP, Chemistry, cells_of, chemistry_of
from desktop.charging.fuel.running import generator, spans
from desktop.charging.stops import carrying_w
from desktop.flow.learned import Learned
from desktop.flow.minutes import Minutes
from desktop.site import Site
from recordings.channels import LEGS

Floats = NDArray[np.float64]

LOOK_BACK_S = 14 * 86_400.0
"""What is older teaches nothing new about a battery or a house that changes with the season."""

_NOW, _BREAK, _THERMAL = 3, 15, 30
_STALE_S = 600.0
_UNDER_WAY = 0.97

_NOTHING_W, _NEARLY_FULL = 25.0, 97.0
"""A battery that is only kept where it is shows this much either way."""


@dataclass(frozen=True, slots=True)
class View:
    """The last minutes up to an instant. Powers W, (m,), NaN where not known; currents A into the battery.

    end       end of the last minute, UTC nanoseconds
    lag_s     how long before the end the last minute's readings were taken in the mean
    time      (m,) start of each minute
    span_s    (m,) how long each stands for
    first     number of the first minute of the charge that goes on
    source    generator and grid together
    else_ac   what of source and AC solar doesn't go into the converter: the house, and what meters differ by
    load      the house
    sun, sun_ac, dc_load  0 where the plant has none
    battery, converter_dc
    volts     of the battery; what it usually has while charging where it isn't metered
    soc       percent
    limit_w   what the input limit lets through
    charge_limit_a  as the device reports it
    metered_v  True where `volts` is a reading
    celsius   of the battery by now; NaN where there is no thermometer
    uneven    the busiest leg's current over the legs' mean, 1 with one leg; NaN where it isn't metered
    idle_w, slope  the converter's loss
    legs      of how many the generator's currents are read; 0 where nothing tells
    """

    end: int
    lag_s: float
    time: NDArray[np.int64]
    span_s: Floats
    first: int
    source: Floats
    else_ac: Floats
    load: Floats
    sun: Floats
    sun_ac: Floats
    dc_load: Floats
    battery: Floats
    converter_dc: Floats
    volts: Floats
    soc: Floats
    limit_w: Floats
    charge_limit_a: Floats
    metered_v: bool
    idle_w: float
    slope: float
    celsius: float
    uneven: Floats
    legs: int = 0

    @property
    def session(self) -> slice:
        """The minutes of the charge that goes on."""
        return slice(self.first, len(self.time))

    @property
    def session_minutes(self) -> int:
        return len(self.time) - self.first

    @property
    def session_start(self) -> int:
        return int(self.time[self.first])

    @property
    def current(self) -> Floats:
        """(m,) A into the battery."""
        return self.battery / self.volts

    @property
    def current_now(self) -> float:
        """A into the battery over the last minutes."""
        return known_mean(self.current[-_NOW:])

    @property
    def current_lately(self) -> float:
        """A into the battery over the last quarter of an hour, or the last minutes if it is more."""
        return max(known_mean(self.current[-_BREAK:]), self.current_now)

    @property
    def volts_now(self) -> float:
        return known_mean(self.volts[-_NOW:])

    def dc_of(self, ac_w: Floats) -> Floats:
        """What the converter gives on its DC side for what it takes (negative: gives) on the AC side."""
        forward = ac_w * (1 - self.slope) - self.idle_w
        return np.where(ac_w >= 0, forward, (ac_w - self.idle_w) / (1 - self.slope))

    def ac_of(self, dc_w: Floats) -> Floats:
        """The other way round."""
        back = dc_w * (1 - self.slope) + self.idle_w
        return np.where(dc_w >= -self.idle_w, (dc_w + self.idle_w) / (1 - self.slope), back)


def view_of(minutes: Minutes, learned: Learned, site: Site, at: int) -> View | None:
    """None where no charge from the generator or the grid goes on, or nothing tells what it is."""
    every = minutes.time
    stop = int(np.searchsorted(every, at - round(minutes.width_s * 1e9), side="right"))
    start = int(np.searchsorted(every[:stop], at - round(LOOK_BACK_S * 1e9)))
    rows = slice(start, stop)
    time = every[rows]
    stale = max(_STALE_S, 2 * learned.gap_s)
    if not len(time) or at - time[-1] > stale * 1e9:
        return None
    span_s = spans(time, minutes.width_s, learned)
    end = int(time[-1]) + round(minutes.width_s * 1e9)

    def stream(name: str) -> Floats:
        if not learned.network.has(name):
            return np.zeros(len(time))
        values = minutes.stream(name)[rows]
        return np.where(np.isnan(values), minutes.measured(name)[rows], values)

    battery, soc = stream("battery"), minutes.channel("battery_soc")[rows]
    given = generator(minutes)[rows]
    source = np.nan_to_num(given) + np.maximum(np.nan_to_num(stream("grid")), 0.0)
    # Where nothing tells of the generator, and the battery is charged all the same, it runs.
    lit = (source > carrying_w(site)) | (np.isnan(given) & (battery > 0))
    first = _began(lit, time, learned.gap_s)
    if first == len(time) or not _charges(battery, soc) or np.isnan(soc[first:]).all():
        return None
    volts = minutes.channel("battery_voltage")[rows]
    metered = bool(np.isfinite(volts[first:]).mean() > 0.5)
    sun, sun_ac, dc_load = (np.nan_to_num(stream(name)) for name in ("solar", "solar_ac", "dc_load"))
    law = learned.conversion
    read = _read_legs(minutes, rows)
    legs = site.generator.legs if site.given("generator", "legs") else max(read, 1)
    view = View(
        end=end,
        lag_s=_lag_s(minutes.width_s, learned.interval_s),
        time=time,
        span_s=span_s,
        first=first,
        source=source,
        else_ac=np.empty(0),
        load=stream("load"),
        sun=sun,
        sun_ac=sun_ac,
        dc_load=dc_load,
        battery=battery,
        converter_dc=battery - sun + dc_load,
        volts=_filled(volts, site),
        soc=soc,
        limit_w=_limit_w(minutes, learned, site, rows),
        charge_limit_a=minutes.channel("charge_limit")[rows],
        metered_v=metered,
        idle_w=law.idle_w,
        slope=law.slope,
        celsius=known_mean(minutes.channel("battery_temperature")[rows][-_THERMAL:]),
        uneven=_uneven(minutes, legs, rows),
        legs=read,
    )
    return _with_else(view)


def _charges(battery: Floats, soc: Floats) -> bool:
    """True where the battery is charged, if with a break of some minutes, or near full is kept where it is."""
    least = -_NOTHING_W if known_mean(soc[-_NOW:]) >= _NEARLY_FULL else 0.0
    return any(known_mean(battery[-many:]) > least for many in (_NOW, _BREAK))


def known_mean(values: Floats) -> float:
    """Mean of what is known; NaN where nothing is."""
    known = values[np.isfinite(values)]
    return float(known.mean()) if known.size else float("nan")


def _read_legs(minutes: Minutes, rows: slice) -> int:
    return sum(bool(np.isfinite(minutes.channel(f"generator_current_{leg}")[rows]).any()) for leg in LEGS)


def _uneven(minutes: Minutes, legs: int, rows: slice) -> Floats:
    if legs == 1:
        return np.ones(len(minutes.time[rows]))
    each = np.abs([minutes.channel(f"generator_current_{leg}")[rows] for leg in LEGS[:legs]])
    mean = each.mean(axis=0)
    known = mean > 0
    uneven: Floats = np.divide(each.max(axis=0), mean, out=np.full(len(mean), np.nan), where=known)
    return uneven


def _lag_s(width_s: float, interval_s: float) -> float:
    """Readings begin with the minute as a rule: few of them lie before its middle in the mean."""
    return width_s - max(0.0, width_s - interval_s) / 2


def _with_else(view: View) -> View:
    """Fill in what of the AC side doesn't go into the converter."""
    charged = view.source + view.sun_ac - view.ac_of(view.converter_dc)
    object.__setattr__(view, "else_ac", np.where(view.source > 0, charged, view.load))
    return view


def _began(on: NDArray[np.bool_], time: NDArray[np.int64], gap_s: float) -> int:
    """The first minute of the last stretch in which the source carried, with no gap in it."""
    if not on[-1] and not on[-2:].any():
        return len(on)
    apart = np.flatnonzero(np.diff(time) / 1e9 > max(gap_s, 180.0)) + 1
    # A minute or two below the threshold is a dip, as it is for sessions.
    lit = on.copy()
    lit[1:-1] |= on[:-2] & on[2:]
    off = np.flatnonzero(~lit[:-1]) + 1
    return int(max(off[-1] if off.size else 0, apart[-1] if apart.size else 0))


def _filled(volts: Floats, site: Site) -> Floats:
    """Missing voltages as the latest before, and the usual one while charging where there is none."""
    known = np.isfinite(volts)
    latest = np.maximum.accumulate(np.where(known, np.arange(len(volts)), -1))
    return np.where(latest >= 0, volts[latest], _charging_v(site))


def kind_of(site: Site) -> Chemistry | None:
    """The battery's chemistry; multiples of 12.8 V are iron phosphate where the sheet doesn't say."""
    kind, volts = chemistry_of(site.battery), site.battery.nominal_v
    if kind is None and volts is not None and abs(volts / 12.8 - round(volts / 12.8)) < 1e-6:
        return LFP
    return kind


def nominal_v(site: Site) -> float:
    """The battery's nominal voltage; 1 V where nothing tells, so that ampere hours are watt hours."""
    kind = kind_of(site)
    if site.battery.nominal_v is not None:
        return site.battery.nominal_v
    cells = cells_of(site.battery)
    return cells * kind.cell_v if kind is not None and cells else 1.0


def _charging_v(site: Site) -> float:
    """About the voltage at which the battery is charged."""
    kind, nominal = kind_of(site), nominal_v(site)
    return nominal if kind is None else nominal * _UNDER_WAY * kind.absorb_v.value / kind.cell_v


def _limit_w(minutes: Minutes, learned: Learned, site: Site, rows: slice) -> Floats:
    amperes = minutes.channel("input_limit")[rows]
    given = site.input.limit_a
    amperes = np.where(np.isnan(amperes), np.nan if given is None else given, amperes)
    volts = learned.volts * site.generator.legs * site.generator.power_factor
    limited: Floats = amperes * volts
    return limited
