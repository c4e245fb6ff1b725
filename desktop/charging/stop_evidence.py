"""What the rows around the end of a run tell of how it ended, measured once and judged elsewhere."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Times = NDArray[np.int64]

BEFORE_S = 90.0
"""How far back the load and speed of the time before are looked up."""

_SHORTLY_S = 15.0
_LATEST_S = 2.5
_RECENT_S = 8.0
_DROOP = 0.10
_SLACK = 0.02
_STALLED = 0.75
_AT_SPEED = 0.03
_COASTING = (0.05, 0.85)
_MAYBE_S, _SURE_S = 0.05, 0.3
_WOUND_DOWN = 0.6
_LEAST_W = 200.0
_SHED = 0.5
_SURE_SHARE = 0.9
_CHANCE_S = 30.0
_STEP_SHARE = 0.12
_STEP_S = 5.0
_EARLY_S = 20.0


@dataclass(frozen=True, slots=True)
class StopEvidence:
    """Of a run whose load went. Shares are of what the set can carry; NaN where nothing tells.

    interval_s  the usual step between rows
    torn        True where rows are missing just when it mattered
    before_w    the highest power shortly before; share and last_share: that and the very last as shares
    loaded      True where the last rows before still carried more than light load
    heat_s      overload that had added up shortly before: the seconds over, times (share² − 1), as a breaker counts
    asked_share what charger and house together would have asked for, by what the house took right after it had
                gone, as a share; NaN where that isn't known
    stepped     True where the load had risen just before its speed sank, or before the load went
    shed        True where the load had fallen to light load before it went
    wound_down  True where the charger had been taken back to little or nothing while the house still hung on
    lowest_hz   the lowest frequency shortly before
    speed_known True where frequency, or voltage, is read row by row until the end
    sank_s      for how long the speed had sunk below what droop explains, s; 0 where it hadn't, NaN where that
                may as well be the first moment of coasting down
    ran_on_s    for how long it ran on at speed without load, s; 0 where it didn't, NaN where nothing tells
    stood       True where it was seen to stand right after
    hunted      True where its speed wandered while it ran on
    fuel        the lowest fuel level around, %
    """

    interval_s: float
    torn: bool
    before_w: float
    share: float
    last_share: float
    heat_s: float
    asked_share: float
    loaded: bool
    stepped: bool
    shed: bool
    wound_down: bool
    lowest_hz: float
    speed_known: bool
    sank_s: float
    ran_on_s: float
    stood: bool
    hunted: bool
    fuel: float


@dataclass(frozen=True, slots=True)
class StopRows:
    """The rows around a stop, (n,) each, NaN where not known.

    time     UTC nanoseconds
    power    what the generator gives, W; share: that, or the busiest leg's current, over what it can carry
    turning  1 where it runs, 0 where it stands
    speed    frequency over nominal, else voltage over nominal
    hz       frequency
    charger  what the charger takes from the AC bus, W; load: what the house takes, W
    fuel     tank, %
    """

    time: Times
    power: Floats
    share: Floats
    turning: Floats
    speed: Floats
    hz: Floats
    charger: Floats
    load: Floats
    fuel: Floats

    def column(self, name: str, start: int, stop: int) -> Floats:
        """The rows from one instant to another, both included."""
        rows = slice(*np.searchsorted(self.time, (start, stop + 1)).tolist())
        column: Floats = getattr(self, name)[rows]
        return column

    def times(self, start: int, stop: int) -> Times:
        """The stamps of those rows."""
        return self.time[slice(*np.searchsorted(self.time, (start, stop + 1)).tolist())]


@dataclass(frozen=True, slots=True)
class Ending:
    """Where in the rows a run ended. Times UTC nanoseconds.

    loaded   the last row under load; stopped: the first without
    settled  the last row that may be looked at
    stood    the first row at which it was seen to stand, None where it wasn't
    near_s   how soon after the load it must stand to have been dropped
    light_w  up to this a load is light
    """

    loaded: int
    stopped: int
    settled: int
    stood: int | None
    near_s: float
    light_w: float
    torn: bool


def gather(rows: StopRows, end: Ending, interval_s: float) -> StopEvidence:
    """Measure a stop."""
    shortly = end.loaded - _ns(max(_SHORTLY_S, end.near_s))
    latest = end.loaded - _ns(_LATEST_S)
    power = rows.column("power", shortly, end.loaded)
    last = rows.column("power", latest, end.loaded)
    sank_s, known, onset = _sinking(rows, end)
    ran_on_s, hunted = _run_on(rows, end, interval_s)
    speed = rows.column("hz", shortly, end.loaded)
    before = _before(rows, "power", end)
    peak, least = _highest(power), -_highest(-last)
    light = bool(least < end.light_w)
    return StopEvidence(
        interval_s=interval_s,
        torn=end.torn,
        before_w=peak,
        share=_highest(rows.column("share", shortly, end.loaded)),
        last_share=_highest(rows.column("share", latest, end.loaded)),
        heat_s=_heat(rows, end),
        loaded=_highest(rows.column("power", end.loaded - _ns(5.0), end.loaded)) >= end.light_w,
        asked_share=_asked(rows, end),
        stepped=_stepped(rows, onset, before, interval_s),
        shed=light and least < _SHED * before,
        wound_down=_wound_down(rows, end),
        lowest_hz=-_highest(-np.where(speed > 0, speed, np.nan)),
        speed_known=known,
        sank_s=sank_s,
        ran_on_s=ran_on_s,
        stood=end.stood is not None and end.stood - end.loaded <= _ns(end.near_s),
        hunted=hunted,
        fuel=-_highest(-rows.column("fuel", shortly, end.settled)),
    )


def _before(rows: StopRows, name: str, end: Ending) -> float:
    """The median of the time before the last seconds, while it turned."""
    start = end.loaded - _ns(max(BEFORE_S, 4 * end.near_s))
    stop = end.loaded - _ns(_EARLY_S)
    turning = rows.column("turning", start, stop) != 0
    values = rows.column(name, start, stop)
    values = values[turning & np.isfinite(values)]
    return float(np.median(values)) if values.size else math.nan


def _heat(rows: StopRows, end: Ending) -> float:
    """What a breaker adds up of overload: shares squared less one, times seconds. NaN where no share is known."""
    start = end.loaded - _ns(max(BEFORE_S, 4 * end.near_s))
    share, time = rows.column("share", start, end.loaded), rows.times(start, end.loaded)
    known = np.isfinite(share)
    if np.count_nonzero(known) < 2:
        return math.nan
    over = np.maximum(share[known] ** 2 - 1, 0.0)
    # The last row stands for the time until the load was seen to be gone.
    lasted = np.diff(np.append(time[known], end.stopped)) / 1e9
    return float((over * lasted).sum())


def _sinking(rows: StopRows, end: Ending) -> tuple[float, bool, int]:
    """For how long the speed sank before the load went, s; whether speed is known there; and since when.

    A set that is switched off coasts down within a second or two; one that starves or bogs down sinks for
    longer under its load. What droop takes for more load is no sinking.
    """
    start = end.loaded - _ns(_EARLY_S)
    speed, power = rows.column("speed", start, end.loaded), rows.column("power", start, end.loaded)
    time = rows.times(start, end.loaded)
    usual, carried = _before(rows, "speed", end), _before(rows, "power", end)
    known = bool(np.isfinite(speed[-1:]).any())
    if not known or math.isnan(usual):
        return 0.0, known, end.loaded
    more = np.clip(power / carried - 1, 0.0, 1.0) if carried > 0 else np.zeros(len(power))
    sunk = np.isfinite(speed) & (speed < usual - _DROOP * np.nan_to_num(more) - _SLACK) & (speed > _STALLED)
    if not sunk.any():
        return 0.0, True, end.loaded
    onset = int(time[int(np.argmax(sunk))])
    coasting = _coasting_since(rows, end)
    if math.isnan(coasting):
        alone = np.count_nonzero(sunk) < 2
        return (math.nan if alone else (end.loaded - onset) / 1e9), True, onset
    before = (coasting - onset) / 1e9
    if before > _SURE_S:
        return before, True, onset
    return (math.nan if before > _MAYBE_S else 0.0), True, onset


def _stepped(rows: StopRows, onset: int, usual: float, interval_s: float) -> bool:
    """Whether the load rose within seconds before an instant: what bogs down does so at once."""
    power = rows.column("power", onset - _ns(max(_STEP_S, 2.2 * interval_s)), onset + _ns(1.5))
    power = power[np.isfinite(power)]
    if power.size < 2:
        return False
    rise = power - np.minimum.accumulate(power)
    return bool(rise.max() > _STEP_SHARE * np.fmax(usual, power[0]))


def _asked(rows: StopRows, end: Ending) -> float:
    """A house that stays on its inverter shows what was switched on between two rows."""
    after = rows.column("load", end.stopped, end.stopped + _ns(end.near_s))
    charger = rows.column("charger", end.loaded - _ns(_LATEST_S), end.loaded)
    power = rows.column("power", end.loaded - _ns(_LATEST_S), end.loaded)
    share = rows.column("share", end.loaded - _ns(_LATEST_S), end.loaded)
    if not (np.isfinite(after).any() and np.isfinite(charger).any() and np.isfinite(share).any()):
        return math.nan
    per_watt = float(np.nanmedian(share) / np.nanmedian(power)) if np.nanmedian(power) > 0 else math.nan
    return (float(np.nanmax(after[:3], initial=0.0)) + max(0.0, float(np.nanmedian(charger)))) * per_watt


def _coasting_since(rows: StopRows, end: Ending) -> float:
    """When it began to coast, reckoned back from how it came to rest; UTC nanoseconds, NaN where not seen.

    Only frequency tells: the voltage of a slow set collapses by itself.
    """
    hz, time = rows.column("hz", end.stopped, end.settled), rows.times(end.stopped, end.settled)
    nominal = _before(rows, "hz", end)
    slow = np.isfinite(hz) & (hz > _COASTING[0] * nominal) & (hz < _COASTING[1] * nominal)
    if np.count_nonzero(slow) < 2:
        return math.nan
    when, logs = time[slow][:2].astype(np.float64), np.log(hz[slow][:2] / nominal)
    rate = (logs[1] - logs[0]) / (when[1] - when[0])
    return float(when[0] - logs[0] / rate) if rate < 0 else math.nan


def _run_on(rows: StopRows, end: Ending, interval_s: float) -> tuple[float, bool]:
    """For how long it ran on at speed, s, and whether its speed wandered meanwhile.

    Relieved of its load a set runs at least as fast as before; one that is slower is coming to rest.
    """
    turning = rows.column("turning", end.stopped, end.settled)
    time = rows.times(end.stopped, end.settled)
    if not np.isfinite(turning).any():
        return math.nan, False
    stands = np.flatnonzero(turning == 0)
    stop = int(stands[0]) if stands.size else len(turning)
    speed = rows.column("speed", end.stopped, end.settled)[:stop]
    usual = _before(rows, "speed", end)
    on = np.flatnonzero((turning[:stop] > 0) & ~(speed < usual - _AT_SPEED))
    by_voltage = np.isnan(rows.column("hz", end.stopped, end.settled)[:stop]).all()
    if stands.size and by_voltage and interval_s < _CHANCE_S:
        # The voltage holds for a moment while it coasts down already; rows far apart hardly hit that moment.
        on = on[on < stop - 1]
    if not on.size:
        return 0.0, False
    seen = speed[: on[-1] + 1]
    hunted = bool(np.nanmin(seen, initial=np.inf) < np.nanmedian(seen) - 2 * _SLACK)
    return float(time[on[-1]] - end.loaded) / 1e9, hunted


def _wound_down(rows: StopRows, end: Ending) -> bool:
    """Whether the charger had been taken back by itself: not because the house took more."""
    start = end.loaded - _ns(_EARLY_S)
    charger = rows.column("charger", start, end.loaded)
    if not np.isfinite(charger).any():
        extra = rows.column("power", start, end.loaded) - rows.column("load", start, end.loaded)
        charger, before = extra, _before(rows, "power", end) - _before(rows, "load", end)
    else:
        before = _before(rows, "charger", end)
    charger = charger[np.isfinite(charger)]
    if not charger.size or not before > max(_LEAST_W, 0.5 * end.light_w):
        return False
    given_back = before - float(charger[-1])
    load = rows.column("load", start, end.loaded)
    load = load[np.isfinite(load)]
    rise = float(load[-1]) - _before(rows, "load", end) if load.size else math.nan
    if math.isnan(rise) and not rows.column("share", start, end.loaded)[-1:] < _SURE_SHARE:
        return False
    power = rows.column("power", start, end.loaded)
    fell = _before(rows, "power", end) - float(power[np.isfinite(power)][-1])
    taken_back = charger[-1] < _WOUND_DOWN * before and not rise > 0.3 * given_back
    return bool(taken_back and fell > 0.5 * given_back)


def _highest(values: Floats) -> float:
    return float(np.fmax.reduce(values, initial=np.nan))


def _ns(seconds: float) -> int:
    return round(seconds * 1e9)
