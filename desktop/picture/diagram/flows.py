"""What flows in each channel of a moment, which way, and whose water it is."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from desktop.flow.streams import SINKS, SOURCES, STREAMS
from desktop.review.moment import Moment, StreamNow
from desktop.review.ratings import round_up

MIXED = "mixed"
"""The source of water of which nothing tells where it comes from."""

STILL_W = 25.0
"""What is less than this is shown as standing still."""

_AC_SOURCES = ("generator", "grid", "solar_ac")
_DC_SOURCES = ("solar", "battery")
_AC_SINKS = ("load", "grid")
_DC_SINKS = ("battery", "dc_load")

_ORDER = ("grid", "generator", "solar_ac", "solar", "battery", MIXED)
"""Bands in a channel, from its surface to its floor: as the sources lie in the picture."""


@dataclass(frozen=True, slots=True)
class Flow:
    """One stream, as it is drawn.

    watts     how much flows, without sign; 0 where it is not known
    forward   True with the sign of the channel vocabulary (into the battery, out of the grid, from AC to DC)
    capacity  what the channel can carry, W
    bands     (source, W) from surface to floor; they sum to `watts`
    """

    stream: str
    known: bool
    watts: float
    forward: bool
    capacity: float
    capacity_assumed: bool
    bands: tuple[tuple[str, float], ...]

    @property
    def still(self) -> bool:
        """True where what flows is next to nothing."""
        return self.watts < STILL_W


Feeds = Mapping[tuple[str, str], float]


def flows(moment: Moment) -> dict[str, Flow]:
    """Every stream that the plant has, by name."""
    feeds = {
        (source, sink): float(moment.table[row, column])
        for row, source in enumerate(SOURCES)
        for column, sink in enumerate(SINKS)
    }
    present = {name: stream for name, stream in moment.streams.items() if stream.knowledge != "absent"}
    return {name: _flow(present[name], feeds) for name in STREAMS if name in present}


def _flow(stream: StreamNow, feeds: Feeds) -> Flow:
    known = stream.knowledge != "unknown" and math.isfinite(stream.value)
    watts = abs(stream.value) if known else 0.0
    forward = not (known and stream.value < 0)
    rated, assumed = stream.rated, stream.rated_assumed
    if rated is None or not (math.isfinite(rated) and rated > 0):
        rated, assumed = round_up(watts), True
    bands = _bands(_shares(stream.name, forward, feeds), watts)
    return Flow(stream.name, known, watts, forward, rated, assumed, bands)


def _shares(name: str, forward: bool, feeds: Feeds) -> dict[str, float]:
    """Whose water a stream carries, in any unit; empty where nothing tells."""
    if name in ("generator", "solar", "solar_ac") or (name == "grid" and forward):
        return {name: 1.0}
    if name == "battery" and not forward:
        return {name: 1.0}
    if name == "loss":
        return _sum(feeds, SOURCES, ("losses",))
    if name in ("converter_ac", "converter_dc"):
        return _through(name, forward, feeds)
    return _sum(feeds, SOURCES, (name,))


def _through(name: str, forward: bool, feeds: Feeds) -> dict[str, float]:
    """Whose water passes the converter. What it loses has come in at the side that feeds it."""
    sources, sinks = (_AC_SOURCES, _DC_SINKS) if forward else (_DC_SOURCES, _AC_SINKS)
    feeding_side = (name == "converter_ac") == forward
    return _sum(feeds, sources, (*sinks, "losses") if feeding_side else sinks)


def _sum(feeds: Feeds, sources: tuple[str, ...], sinks: tuple[str, ...]) -> dict[str, float]:
    return {source: sum(feeds[source, sink] for sink in sinks) for source in sources}


def _bands(shares: dict[str, float], watts: float) -> tuple[tuple[str, float], ...]:
    if watts <= 0:
        return ()
    if any(math.isnan(share) for share in shares.values()):
        return ((MIXED, watts),)
    shares = {source: share for source, share in shares.items() if share > 0}
    total = sum(shares.values())
    if not total > 0:
        return ((MIXED, watts),)
    return tuple((source, watts * shares[source] / total) for source in _ORDER if source in shares)
