"""From channels to streams: which reading tells of which stream, and how good it is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.network import Network
from desktop.flow.streams import CHANNEL_OF, INDEX, STREAMS
from desktop.site import Site
from recordings.channels import LEGS
from recordings.recording import Recording

Floats = NDArray[np.float64]

NOMINAL_VOLTS_PERCENT = 5.0
"""How far a running set's voltage strays from its nominal one, one standard deviation: where amperes are
metered and volts are not. Common practice: droop and drop stay within twice that."""

ASSUMED_POWER_FACTOR_PERCENT = 3.0
"""How well a power factor is known that the sheet doesn't give."""

STANDING_HZ = 5.0
STANDING_VOLTS = 0.1
"""Below this frequency, or this share of its nominal voltage, a generator stands still."""

STANDING_SD_W = 1.0
"""How well it is known that a generator which stands still gives nothing."""


@dataclass(frozen=True, slots=True)
class Product:
    """A power worked out from others: factor · Σ volts·amperes.

    pairs   (channel of volts, "" for the nominal voltage; channel of amperes)
    factor  power factor, times the number of legs where one meter stands for all of them
    nominal_v  leg to neutral, NaN where not known
    """

    pairs: tuple[tuple[str, str], ...]
    factor: float
    nominal_v: float


@dataclass(frozen=True, slots=True)
class Metering:
    """How each stream of a plant is metered.

    direct    stream → channel of its power
    products  stream → how it is derived. Only where the plant has no channel for the power itself
    percent, floor_w  (10,) the classes of the meters; derived ones carry those of volts and amperes, in
              quadrature
    frequency, voltages  channels that tell whether the generator turns
    """

    direct: dict[str, str]
    products: dict[str, Product]
    percent: tuple[float, ...]
    floor_w: tuple[float, ...]
    frequency: str
    voltages: tuple[str, ...]
    nominal_v: float

    @classmethod
    def of(cls, channels: frozenset[str], network: Network, site: Site, volts: float) -> Metering:
        """channels: those with readings; volts: nominal, leg to neutral, NaN where not known."""
        direct = {name: CHANNEL_OF[name] for name in network.present if CHANNEL_OF.get(name) in channels}
        products: dict[str, Product] = {}
        pair = ("battery_voltage", "battery_current")
        if network.has("battery") and "battery" not in direct and channels.issuperset(pair):
            products["battery"] = Product((pair,), 1.0, math.nan)
        if network.has("generator") and "generator" not in direct:
            product = _generator(channels, site, volts)
            if product:
                products["generator"] = product
        classes = [_class(name, direct, products, site) for name in STREAMS]
        turning = ("generator_voltage", *(f"generator_voltage_{leg}" for leg in LEGS))
        return cls(
            direct,
            products,
            tuple(percent for percent, _ in classes),
            tuple(floor for _, floor in classes),
            "generator_frequency" if "generator_frequency" in channels else "",
            tuple(name for name in turning if name in channels) if volts > 0 else (),
            volts,
        )

    @property
    def derived(self) -> frozenset[str]:
        """Streams whose reading is worked out from others."""
        return frozenset(self.products)

    def read(self, recording: Recording, rows: slice, out: Floats) -> dict[str, Floats]:
        """Readings of every stream into `out` (10, n), W, NaN where there is none; returns every channel.

        Channels that are powers share memory with `out`. An infinite reading is a missing one.
        """
        channels: dict[str, Floats] = {}
        filled = set()
        for name, channel in self.direct.items():
            if channel in recording:
                channels[channel] = _finite(recording.column(channel)[rows], out[INDEX[name]])
                filled.add(name)
        for channel in recording.channels:
            if channel not in channels:
                readings = recording.column(channel)[rows]
                channels[channel] = _finite(readings, np.empty(len(readings)))
        for name, product in self.products.items():
            _multiply(product, channels, out[INDEX[name]])
            filled.add(name)
        for name, row in INDEX.items():
            if name not in filled:
                out[row].fill(np.nan)
        return channels

    def standing(self, channels: dict[str, Floats]) -> NDArray[np.bool_] | None:
        """(n,) where frequency or voltage say that the generator stands still; None where it never does."""
        still: NDArray[np.bool_] | None = None
        if self.frequency in channels:
            still = channels[self.frequency] < STANDING_HZ
        voltages = [channels[name] for name in self.voltages if name in channels]
        if voltages:
            highest = np.fmax.reduce(voltages) if len(voltages) > 1 else voltages[0]
            dead = highest < STANDING_VOLTS * self.nominal_v
            still = dead if still is None else still | dead
        return still if still is not None and still.any() else None


def _generator(channels: frozenset[str], site: Site, volts: float) -> Product | None:
    """Per leg where every leg's amperes are metered, else from the one meter that stands for all legs."""
    metered = [leg for leg in LEGS if f"generator_current_{leg}" in channels]
    legs = site.generator.legs if site.given("generator", "legs") else max(1, len(metered))
    factor = site.generator.power_factor
    pairs: list[tuple[str, str]] = []
    if set(LEGS[:legs]) <= set(metered):
        pairs = [(_volts(channels, leg), f"generator_current_{leg}") for leg in LEGS[:legs]]
    elif "generator_current" in channels:
        pairs, factor = [(_volts(channels, "l1"), "generator_current")], factor * legs
    if not pairs or (math.isnan(volts) and any(not channel for channel, _ in pairs)):
        return None
    return Product(tuple(pairs), factor, volts)


def _volts(channels: frozenset[str], leg: str) -> str:
    for name in (f"generator_voltage_{leg}", "generator_voltage"):
        if name in channels:
            return name
    return ""


def _class(
    stream: str, direct: dict[str, str], products: dict[str, Product], site: Site
) -> tuple[float, float]:
    """(percent, floor_w) of a stream's reading."""
    if stream not in products:
        meter = site.meter(direct.get(stream, CHANNEL_OF.get(stream, "")))
        return meter.percent, meter.floor_w
    volts, amperes = products[stream].pairs[0]
    meters = [site.meter(amperes)] + ([site.meter(volts)] if volts else [])
    percents = [meter.percent for meter in meters]
    if not volts:
        percents.append(NOMINAL_VOLTS_PERCENT)
    if stream == "generator" and not site.given("generator", "power_factor"):
        percents.append(ASSUMED_POWER_FACTOR_PERCENT)
    return math.hypot(*percents), math.hypot(*(meter.floor_w for meter in meters))


def _finite(readings: NDArray[np.float32], out: Floats) -> Floats:
    np.copyto(out, readings)
    # A sum of finite single-precision numbers can't overflow here; one that isn't finite is rare and looked into.
    if not np.isfinite(np.add.reduce(readings)):
        out[np.isinf(out)] = np.nan
    return out


def _multiply(product: Product, channels: dict[str, Floats], out: Floats) -> None:
    out.fill(0.0)
    for volts, amperes in product.pairs:
        current = channels.get(amperes, np.full(len(out), np.nan))
        across = channels[volts] if volts in channels else np.full(len(out), product.nominal_v)
        out += across * current
    out *= product.factor
