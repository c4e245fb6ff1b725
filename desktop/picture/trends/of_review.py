"""The trends of a review: which curves, panes, limits, findings and gaps there are to draw."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import tzinfo
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from desktop.charging.derating import rated_w
from desktop.diagnosis import bands
from desktop.diagnosis.finding import Finding
from desktop.flow.learned import Learned
from desktop.flow.streams import CHANNEL_OF, GAPS, STREAMS
from desktop.picture.levels import Values
from desktop.picture.trends.source import Band, LimitLine, Pane, Series
from desktop.site import Site
from desktop.words import Phrase
from recordings.channels import LEGS
from recordings.recording import Recording

_SECOND = 1_000_000_000
_CHUNK = 1 << 16

PANES = (
    Pane("power", Phrase("Power"), "kW", 1e-3, "zero"),
    Pane("soc", Phrase("State of charge"), "%", most=(0.0, 100.0)),
    Pane("generator_current", Phrase("Generator current"), "A", base="zero"),
    # A governor holds speed to some per cent, so what lies far below is a start, a stop or a stall.
    Pane("generator_frequency", Phrase("Generator frequency"), "Hz", base="running", running=0.9),
    Pane("generator_voltage", Phrase("Generator voltage"), "V", base="running"),
    Pane("battery_voltage", Phrase("Battery voltage"), "V", base="running"),
    Pane("battery_current", Phrase("Battery current"), "A", base="zero"),
    Pane("temperature", Phrase("Battery temperature"), "°C"),
    Pane("fuel", Phrase("Fuel"), "%", most=(0.0, 100.0)),
    Pane("unaccounted", Phrase("Unaccounted power"), "kW", 1e-3, "zero"),
)

_POWERS = {
    "generator": (Phrase("Generator"), "generator"),
    "grid": (Phrase("Grid"), "grid"),
    "solar": (Phrase("Solar"), "solar"),
    "solar_ac": (Phrase("Solar (AC)"), "solar_ac"),
    "load": (Phrase("House"), "load"),
    "battery": (Phrase("Battery"), "battery"),
    "dc_load": (Phrase("DC loads"), "dc_load"),
    "converter_ac": (Phrase("Inverter-charger, AC"), "converter"),
    "converter_dc": (Phrase("Inverter-charger, DC"), "converter"),
    "loss": (Phrase("Losses"), "losses"),
}

_AT_FIRST = frozenset({"generator", "grid", "solar", "solar_ac", "load", "battery"})

_READINGS = {
    "battery_soc": ("soc", Phrase("Battery"), "battery", "%", True),
    "generator_current": ("generator_current", Phrase("Current"), "generator", "A", False),
    "input_limit": ("generator_current", Phrase("Input limit, as reported"), "limit", "A", False),
    "generator_frequency": ("generator_frequency", Phrase("Frequency"), "generator", "Hz", True),
    "generator_voltage": ("generator_voltage", Phrase("Voltage"), "generator", "V", False),
    "battery_voltage": ("battery_voltage", Phrase("Voltage"), "battery", "V", False),
    "battery_current": ("battery_current", Phrase("Current"), "battery", "A", False),
    "battery_temperature": ("temperature", Phrase("Temperature"), "battery", "°C", False),
    "fuel_level": ("fuel", Phrase("Tank"), "fuel", "%", False),
}

_PLACES = {
    "ac": (Phrase("AC bus"), "unaccounted"),
    "dc": (Phrase("DC bus"), "unaccounted_dc"),
    "both": (Phrase("Both buses"), "unaccounted_both"),
}


class Reviewed(Protocol):
    """The part of a review that trends are drawn from."""

    @property
    def recording(self) -> Recording:
        """What was measured."""

    @property
    def site(self) -> Site:
        """The site sheet as used."""

    @property
    def learned(self) -> Learned:
        """What was learned of the plant; another object where all rows were worked through again."""

    @property
    def findings(self) -> Sequence[Finding]:
        """What is wrong."""

    @property
    def gaps(self) -> Sequence[tuple[int, int]]:
        """Start and end of telemetry gaps, UTC nanoseconds."""

    def stream(self, name: str) -> Values:
        """(n,) reconciled power of a stream, W."""

    def unaccounted(self, place: str) -> Values:
        """(n,) unaccounted power at a place, W."""


class ReviewTrends:
    """A `TrendSource` over a review. Call `refresh` when the review was extended or computed anew."""

    def __init__(self, review: Reviewed) -> None:
        self.panes = PANES
        self.revision = 0
        self._review, self._learned = review, review.learned
        self._carries = _Carries()
        self.refresh(review)

    def refresh(self, review: Reviewed) -> None:
        """Take the review as it is now."""
        # Something else was learned: all rows were worked through again.
        if review is not self._review or review.learned is not self._learned:
            self.revision += 1
        self._review, self._learned = review, review.learned
        self._carries.look(review, self.revision)
        self.series = tuple(_curves(review, self._carries))
        self.limits = tuple(_limits(review.site, review.recording, review.learned))
        self.bands = tuple(_bands(review.findings))
        self.bridge = round(review.learned.gap_s * _SECOND)

    @property
    def zone(self) -> tzinfo:
        """The site's clock."""
        return self._review.site.zone

    @property
    def time(self) -> NDArray[np.int64]:
        """(n,) UTC nanoseconds."""
        return self._review.recording.time

    @property
    def gaps(self) -> NDArray[np.int64]:
        """(m, 2) start and end of telemetry gaps."""
        return np.array(self._review.gaps, np.int64).reshape(-1, 2)


def trends_of(review: Reviewed) -> ReviewTrends:
    """What a trend view draws of a review."""
    return ReviewTrends(review)


class _Carries:
    """Which streams and places ever carry anything that is known, without looking at a row twice.

    A stream that the plant doesn't have is 0 throughout, one that nothing tells is NaN throughout.
    """

    def __init__(self) -> None:
        self._rows = 0
        self._revision = 0
        self._found: set[str] = set()

    def __call__(self, name: str) -> bool:
        return name in self._found

    def look(self, review: Reviewed, revision: int) -> None:
        """Look at the rows that were added; at all of them where the past has changed."""
        if revision != self._revision or len(review.recording) < self._rows:
            self._rows, self._revision, self._found = 0, revision, set()
        for name in STREAMS:
            self._note(name, review.stream(name))
        for place in GAPS:
            self._note(f"at_{place}", review.unaccounted(place))
        self._rows = len(review.recording)

    def _note(self, name: str, values: Values) -> None:
        if name in self._found:
            return
        for start in range(self._rows, len(values), _CHUNK):
            part = values[start : start + _CHUNK]
            if np.any(np.isfinite(part) & (part != 0)):
                self._found.add(name)
                return


def _curves(review: Reviewed, carries: _Carries) -> list[Series]:
    recording = review.recording
    curves: list[Series] = []
    for name in STREAMS:
        label, role = _POWERS[name]
        channel = CHANNEL_OF.get(name, "")
        shown = name in _AT_FIRST
        if channel in recording:
            curves.append(_series(channel, label, "power", "W", role, _column(review, channel), False))
        if carries(name):
            reconciled = Series(name, label, "power", "W", role, "reconciled", _stream(review, name), shown)
            curves.append(reconciled)
    for channel, (pane, label, role, unit, shown) in _READINGS.items():
        names = [channel, *(f"{channel}_{leg}" for leg in LEGS)]
        for number, name in enumerate(name for name in names if name in recording):
            legged = label if name == channel else Phrase("{what}, leg {leg}", what=label, leg=name[-1])
            part = role if number == 0 else f"{role}_{number + 1}"
            # Where no power tells what the generator does, its current has to.
            needed = shown or (channel == "generator_current" and not carries("generator"))
            curves.append(_series(name, legged, pane, unit, part, _column(review, name), needed))
    for place in GAPS:
        if carries(f"at_{place}"):
            label, role = _PLACES[place]
            missing = _unaccounted(review, place)
            curves.append(Series(f"at_{place}", label, "unaccounted", "W", role, "reconciled", missing))
    return curves


def _series(
    channel: str, label: Phrase, pane: str, unit: str, role: str, values: Callable[[], Values], shown: bool
) -> Series:
    return Series(channel, label, pane, unit, role, "measured", values, shown)


def _column(review: Reviewed, channel: str) -> Callable[[], Values]:
    return lambda: review.recording.column(channel)


def _stream(review: Reviewed, name: str) -> Callable[[], Values]:
    return lambda: review.stream(name)


def _unaccounted(review: Reviewed, place: str) -> Callable[[], Values]:
    return lambda: review.unaccounted(place)


def _limits(site: Site, recording: Recording, learned: Learned) -> list[LimitLine]:
    generator, battery, volts = site.generator, site.battery, learned.volts
    lines = _electrical(site, learned)
    if site.input.limit_a is not None:
        lines.append(LimitLine("generator_current", site.input.limit_a, Phrase("input limit")))
        if not math.isnan(volts):
            watts = site.input.limit_a * volts * generator.legs
            lines.append(LimitLine("power", watts, Phrase("input limit"), assumed=generator.volts is None))
    rated = rated_w(site)
    if not math.isnan(rated):
        lines.append(LimitLine("power", rated, Phrase("generator rating")))
    if battery.max_charge_a is not None:
        lines.append(LimitLine("battery_current", battery.max_charge_a, Phrase("battery's maximum")))
    if battery.absorb_v is not None:
        lines.append(LimitLine("battery_voltage", battery.absorb_v, Phrase("absorption")))
    if "battery_soc" in recording:
        assumed = not site.given("battery", "target_soc")
        lines.append(LimitLine("soc", battery.target_soc, Phrase("target"), assumed))
    return lines


def _electrical(site: Site, learned: Learned) -> list[LimitLine]:
    """Between which frequencies and voltages a generator runs well."""
    lines: list[LimitLine] = []
    for pane, nominal, stated, ends in (
        ("generator_frequency", learned.hz, site.generator.hz, (bands.LOWEST_HZ, bands.HIGHEST_HZ)),
        ("generator_voltage", learned.volts, site.generator.volts, (bands.LOWEST_V, bands.HIGHEST_V)),
    ):
        if math.isfinite(nominal):
            for share, name in zip(ends, (Phrase("lowest"), Phrase("highest")), strict=True):
                lines.append(LimitLine(pane, share * nominal, name, assumed=stated is None))
    return lines


def _bands(findings: Sequence[Finding]) -> list[Band]:
    found = [Band(each.start, each.end, each.severity, each.title) for each in findings]
    return sorted(found, key=lambda band: band.start)
