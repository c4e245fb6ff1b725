"""Fitting the conversion law to a recording that has the redundancy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.conversion import ASSUMED, Conversion
from desktop.flow.measure import Metering
from desktop.flow.network import Network
from desktop.flow.streams import BALANCE, INDEX, STREAMS
from recordings.recording import Recording

Floats = NDArray[np.float64]

FEWEST_ROWS = 60
"""Steady rows that a fit needs."""

_SAMPLE = 20_000
_HUBER = 1.345
_ROUNDS = 30
_MOVED = 3.0

# Both numbers are told apart only where the power through the converter has varied enough.
_LEAST_RANGE_W, _LEAST_RANGE = 300.0, 0.25
_IDLE_ERROR_W, _SLOPE_ERROR = 30.0, 0.01
# Rows scatter around a true law about as widely as the meters are good.
_MOST_SCATTER = 3.0
# Where more rows than this lie far off, something else is going on than loss.
_FAR, _MOST_CONTRADICTED = 4.0, 0.1
# Meters whose noise is far below their class still have gain errors of that class.
_LEAST_SCATTER = 0.3
# What inverter-chargers lose (common practice): some 20 to 100 W idle, and 2 to 20 % in all under load.
_MOST_IDLE_W, _MOST_IDLE, _MOST_SLOPE = 120.0, 0.03, 0.2
_LEAST_LOSS, _MOST_LOSS = 0.01, 0.25
_APART = 0.03
_IDLE_SD_W = 10.0


def fit_conversion(recording: Recording, network: Network, metering: Metering) -> Conversion:
    """The law that fits the recording; the assumed one where it can't be determined or isn't plausible.

    Both ends of the converter must be known: each from its own meter, else from the sum of its bus.
    """
    if not network.has("loss"):
        return ASSUMED
    sample = _steady(recording, metering)
    if sample is None:
        return ASSUMED
    return fitted(Sample.of(*sample, network))


def _steady(recording: Recording, metering: Metering) -> tuple[Floats, Floats] | None:
    """Readings and variances (10, k) of evenly spread rows in which no meter had just moved; None if too few."""
    rows = len(recording)
    if rows < FEWEST_ROWS:
        return None
    stride = 1 + rows // _SAMPLE
    now, before = slice(1, rows, stride), slice(0, rows - 1, stride)
    readings, earlier = (np.empty((len(STREAMS), len(recording.time[part]))) for part in (now, before))
    metering.read(recording, now, readings)
    metering.read(recording, before, earlier)
    percent, floor = (np.array(part)[:, None] for part in (metering.percent, metering.floor_w))
    variance = (percent / 100 * readings) ** 2 + np.maximum(floor, 1.0) ** 2
    moved = np.abs(readings - earlier) > _MOVED * np.sqrt(2 * variance)
    steady = ~moved.any(axis=0)
    return (readings[:, steady], variance[:, steady]) if steady.sum() >= FEWEST_ROWS else None


@dataclass(frozen=True, slots=True)
class Sample:
    """Rows from which the law can be fitted; (k,) arrays.

    feed      power on the side that feeds the converter, W
    loss      what went in and didn't come out, W
    variance  of `loss`, W²
    charging  True where the AC side feeds
    """

    feed: Floats
    loss: Floats
    variance: Floats
    charging: NDArray[np.bool_]

    @classmethod
    def of(cls, readings: Floats, variance: Floats, network: Network) -> Sample:
        """From the rows in which both ends of the converter are known."""
        ac, ac_variance = _end(readings, variance, network, 0, "converter_ac")
        dc, dc_variance = _end(readings, variance, network, 2, "converter_dc")
        known = np.isfinite(ac + dc)
        ac, dc = ac[known], dc[known]
        charging = ac + dc >= 0
        return cls(np.abs(np.where(charging, ac, dc)), ac - dc, (ac_variance + dc_variance)[known], charging)

    def part(self, rows: NDArray[np.bool_]) -> Sample:
        """Some of the rows."""
        return Sample(self.feed[rows], self.loss[rows], self.variance[rows], self.charging[rows])

    def __len__(self) -> int:
        return len(self.feed)


def _end(
    readings: Floats, variance: Floats, network: Network, bus: int, converter: str
) -> tuple[Floats, Floats]:
    """Power through one end of the converter and its variance: from its meter, else from the bus."""
    own = INDEX[converter]
    others = [i for i, name in enumerate(STREAMS) if BALANCE[bus, i] and network.has(name) and i != own]
    weights = -BALANCE[bus, others] / BALANCE[bus, own]
    total = weights @ readings[others]
    metered = np.isfinite(readings[own])
    return (
        np.where(metered, readings[own], total),
        np.where(metered, variance[own], variance[others].sum(axis=0)),
    )


def fitted(sample: Sample) -> Conversion:
    """The law that fits the sample robustly, both of its numbers not negative; else the assumed law."""
    if len(sample) < FEWEST_ROWS:
        return ASSUMED
    low, high = np.percentile(sample.feed, (5, 95))
    if high - low < max(_LEAST_RANGE_W, _LEAST_RANGE * high):
        return ASSUMED
    idle, slope, errors, scatter = _robust(sample)
    loss = idle + slope * high
    plausible = (
        idle <= max(_MOST_IDLE_W, _MOST_IDLE * high)
        and slope <= _MOST_SLOPE
        and _LEAST_LOSS * high <= loss <= _MOST_LOSS * high
    )
    contradicted = float(np.mean(_off(sample, idle, slope) > _FAR * max(scatter, 1.0)))
    agreed = (
        contradicted <= _MOST_CONTRADICTED and scatter <= _MOST_SCATTER and _both_ways(sample, idle, slope)
    )
    determined = errors[0] <= _IDLE_ERROR_W and errors[1] <= _SLOPE_ERROR
    if not (plausible and determined and agreed):
        return ASSUMED
    return Conversion(
        idle_w=5.0 * round(idle / 5),
        slope=round(round(slope / 0.0025) * 0.0025, 4),
        source="fitted",
        idle_sd_w=_IDLE_SD_W,
        slope_sd=round(_gain_error(sample, high), 4),
    )


def _gain_error(sample: Sample, high: float) -> float:
    """How well the slope is known: however many rows, the meters' gain errors stay in it.

    They are taken as large as the meters' class under load; what is known without any fit counts besides.
    """
    loaded = sample.feed >= high / 2
    class_error = float(np.median(np.sqrt(sample.variance[loaded]) / sample.feed[loaded]))
    return 1 / float(np.hypot(1 / class_error, 1 / ASSUMED.slope_sd))


def _robust(sample: Sample) -> tuple[float, float, tuple[float, float], float]:
    """(idle, slope, their standard errors, scatter in units of the meters' own) by Huber's M-estimate."""
    weight = 1 / sample.variance
    idle, slope, errors = ASSUMED.idle_w, ASSUMED.slope, (np.inf, np.inf)
    factor, scatter = np.ones(len(sample)), 1.0
    for _ in range(_ROUNDS):
        idle, slope, errors = _line(sample, weight * factor / scatter**2)
        off = _off(sample, idle, slope)
        scatter = max(float(np.median(off)) / 0.6745, _LEAST_SCATTER)
        factor = np.minimum(1.0, _HUBER * scatter / np.maximum(off, 1e-12))
    return idle, slope, errors, scatter


def _off(sample: Sample, idle: float, slope: float) -> Floats:
    """How far each row lies off the law, in standard deviations of its meters."""
    off: Floats = np.abs(sample.loss - idle - slope * sample.feed) / np.sqrt(sample.variance)
    return off


def _line(sample: Sample, weight: Floats) -> tuple[float, float, tuple[float, float]]:
    """Least squares of loss = idle + slope·feed with neither below zero, and their standard errors.

    The assumed law counts as one more observation: where idle loss and slope are told apart badly, it decides.
    """
    zero, one, two = (float((weight * sample.feed**power).sum()) for power in range(3))
    right, mixed = float((weight * sample.loss).sum()), float((weight * sample.loss * sample.feed).sum())
    zero, two = zero + ASSUMED.idle_sd_w**-2, two + ASSUMED.slope_sd**-2
    right += ASSUMED.idle_w * ASSUMED.idle_sd_w**-2
    mixed += ASSUMED.slope * ASSUMED.slope_sd**-2
    determinant = zero * two - one * one
    errors = (float(np.sqrt(two / determinant)), float(np.sqrt(zero / determinant)))
    idle, slope = (two * right - one * mixed) / determinant, (zero * mixed - one * right) / determinant
    if slope < 0:
        return max(0.0, right / zero), 0.0, errors
    return (0.0, max(0.0, mixed / two), errors) if idle < 0 else (idle, slope, errors)


def _both_ways(sample: Sample, idle: float, slope: float) -> bool:
    """True where charging and inverting follow the same law: a meter with a wrong scale pulls them apart."""
    for charging in (True, False):
        way = sample.part((sample.charging == charging) & (sample.feed > _LEAST_RANGE_W))
        if len(way) >= FEWEST_ROWS:
            off = float(np.median(way.loss - idle - slope * way.feed))
            if abs(off) > max(_IDLE_ERROR_W, _APART * float(np.median(way.feed))):
                return False
    return True
