"""When the set ran and what it gave, minute by minute: fuel goes with both."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.stops import Facts, carrying_w
from desktop.flow.minutes import Minutes
from desktop.site import Site
from recordings.channels import LEGS

Floats = NDArray[np.float64]

_FULL_SPEED = 0.93
"""From this share of nominal frequency or voltage on a minute's mean is that of a set that ran all through it."""


@dataclass(frozen=True, slots=True)
class Running:
    """The set over m minutes.

    time   (m,) start of each minute, UTC nanoseconds
    span_s (m,) how long each minute's mean stands for; longer than a minute where readings are rarer
    hours  (m,) how long the set ran, h; NaN where nothing tells
    wh     (m,) what it gave, Wh; NaN where nothing tells
    wh_sd  (m,) its standard deviation; meters err the same way all the time
    seen   True where its terminals tell that it runs also while it carries nothing
    """

    time: NDArray[np.int64]
    span_s: Floats
    hours: Floats
    wh: Floats
    wh_sd: Floats
    seen: bool

    def __len__(self) -> int:
        return len(self.time)

    def until(self, instant: int) -> Running:
        """The minutes that began before an instant (UTC nanoseconds)."""
        stop = int(np.searchsorted(self.time, instant))
        return Running(
            self.time[:stop],
            self.span_s[:stop],
            self.hours[:stop],
            self.wh[:stop],
            self.wh_sd[:stop],
            self.seen,
        )


def running(minutes: Minutes, facts: Facts, site: Site) -> Running:
    """What the minute book tells of the set."""
    time = minutes.time
    span_s = spans(time, minutes.width_s, facts)
    power = generator(minutes)
    turned = _turned(minutes, facts)
    seen = bool(np.isfinite(turned).any())
    carries = np.where(np.isnan(power), np.nan, (power > carrying_w(site)).astype(np.float64))
    share = np.fmax(turned, carries)
    # Between two minutes in which it ran it ran, also where nothing was read.
    share = np.where(np.isnan(share) & _within(share > 0), 1.0, share)
    hours = share * span_s / 3600
    # What is read at a set that stands still is its meter's floor.
    wh = np.where(share > 0, np.maximum(power, 0.0), np.where(share == 0, 0.0, np.nan)) * span_s / 3600
    wh_sd = np.where(share > 0, np.nan_to_num(minutes.sd("generator")), 0.0) * span_s / 3600
    return Running(time, span_s, hours, wh, wh_sd, seen)


def generator(minutes: Minutes) -> Floats:
    """(m,) W: reconciled, else as metered."""
    power = minutes.stream("generator")
    return np.where(np.isnan(power), minutes.measured("generator"), power)


def spans(time: NDArray[np.int64], width_s: float, facts: Facts) -> Floats:
    """(m,) how many seconds each minute's mean stands for: up to the next, where no gap lies between."""
    usual = max(width_s, facts.interval_s if facts.interval_s > 0 else width_s)
    span = np.full(len(time), usual)
    ahead = np.diff(time) / 1e9
    span[:-1] = np.where(ahead <= max(width_s, facts.gap_s), ahead, usual)
    return span


def _turned(minutes: Minutes, facts: Facts) -> Floats:
    """(m,) the share of each minute in which the terminals show that it turned; NaN where nothing tells."""
    shares = np.full(len(minutes), np.nan)
    hz, volts = facts.hz, facts.volts
    if hz is not None and hz > 0:
        shares = minutes.channel("generator_frequency") / hz
    if volts is not None and volts > 0:
        for name in ("generator_voltage", *(f"generator_voltage_{leg}" for leg in LEGS)):
            shares = np.where(np.isnan(shares), minutes.channel(name) / volts, shares)
    shares = np.clip(shares / _FULL_SPEED, 0.0, 1.0)
    # Voltmeters of a dead set read something.
    return np.where(shares < 0.02, 0.0, shares)


def _within(true: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(m,) True where a row lies between two true ones with nothing but unknown ones between, up to ten."""
    m = len(true)
    rows = np.arange(m)
    before = np.maximum.accumulate(np.where(true, rows, -m))
    after = np.minimum.accumulate(np.where(true, rows, 2 * m)[::-1])[::-1]
    inside: NDArray[np.bool_] = (after - before) <= 10
    return inside
