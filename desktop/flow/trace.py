"""Who feeds whom: every sink is made of its bus's sources in the proportion in which they feed the bus.

Proportional sharing (Bialek 1996, IEE Proc. Gener. Transm. Distrib. 143:313), first at the bus that the
converter takes from, then at the one that it feeds. What the converter loses belongs to the streams that went
into it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.forms import Scratch
from desktop.flow.streams import INDEX, SINKS, SOURCES, STREAMS

Floats = NDArray[np.float64]
Product = Callable[[Floats, Floats, Floats], object]
"""Puts the product of the first two into the third."""

_LEAST = 1e-100
"""Stands for what feeds a bus that nothing feeds: so small that nothing times its reciprocal is still nothing."""

_AC_SOURCES, _DC_SOURCES = ("generator", "grid", "solar_ac"), ("solar", "battery")
_AC_SINKS, _DC_SINKS = ("load", "grid"), ("battery", "dc_load")


def trace(streams: Floats) -> Floats:
    """(5, 5, n) power from each of SOURCES to each of SINKS, W.

    streams  (10, n) reconciled powers, W: they balance, and only those of SIGNED are ever negative. NaN where
             unknown; the table is NaN where it depends on that, and 0 where nothing can flow whatever the
             unknown is
    """
    streams = np.ascontiguousarray(streams, float)
    table = np.empty((len(SOURCES), len(SINKS), streams.shape[1]))
    Tracer(STREAMS).run(streams, table)
    return table


class Tracer:
    """Traces rows of one plant.

    present  the plant's streams; all others are taken to be zero
    """

    def __init__(self, present: Collection[str]) -> None:
        def those(names: tuple[str, ...]) -> tuple[str, ...]:
            return tuple(name for name in names if name in present)

        self._absent = [row for row, name in enumerate(SOURCES) if name not in present]
        self._ac = those(_AC_SOURCES), those(_AC_SINKS), "converter_ac"
        self._dc = those(_DC_SOURCES), those(_DC_SINKS), "converter_dc"
        self._scratch = Scratch()

    def run(self, streams: Floats, out: Floats) -> None:
        """Trace rows: streams (10, n) as in `trace`; the table goes into `out` (5, 5, n)."""
        for row in self._absent:
            out[row].fill(0.0)
        if not self._table(streams, out, np.multiply):
            rows = np.flatnonzero(np.isnan(streams).any(axis=0))
            part = np.zeros((*out.shape[:2], rows.size))
            self._table(streams[:, rows], part, _known_product)
            out[:, :, rows] = part

    def _table(self, streams: Floats, out: Floats, product: Product) -> bool:
        """Fill the table; False where some of it isn't a number."""
        self._scratch.begin(streams.shape[1])
        ac = _Bus.of(streams, *self._ac, 1.0, self._scratch)
        dc = _Bus.of(streams, *self._dc, -1.0, self._scratch)
        for bus, beyond in ((ac, dc), (dc, ac)):
            reached = _reached(bus, beyond, product, self._scratch)
            part = self._scratch.take()
            for source in bus.names:
                inflow = bus.sources.get(source)
                if inflow is not None:
                    product(inflow, bus.share, part)
                _pour(part if inflow is not None else None, source, reached, out, product)
        np.add(ac.share, dc.share, out=self._scratch.spare)
        return bool(np.isfinite(self._scratch.spare.sum()))


@dataclass(slots=True)
class _Bus:
    """One bus; arrays over rows, W, none negative. What is zero in all rows is left out, or None.

    names           all that can feed it
    sources, sinks  what feeds it and what it feeds, without the converter
    gives, gets     to the converter and from it
    share           1 / all that feeds it
    """

    names: tuple[str, ...]
    sources: dict[str, Floats]
    sinks: dict[str, Floats]
    gives: Floats | None
    gets: Floats | None
    share: Floats

    @classmethod
    def of(
        cls,
        streams: Floats,
        sources: tuple[str, ...],
        sinks: tuple[str, ...],
        converter: str,
        sign: float,
        scratch: Scratch,
    ) -> _Bus:
        """sign: that of the converter's stream while this bus gives to it."""
        feeding: dict[str, Floats | None] = {name: streams[INDEX[name]] for name in sources}
        fed: dict[str, Floats | None] = {name: streams[INDEX[name]] for name in sinks}
        if "grid" in fed:
            feeding["grid"], fed["grid"] = _split(streams[INDEX["grid"]], scratch)
        if "battery" in fed:
            fed["battery"], feeding["battery"] = _split(streams[INDEX["battery"]], scratch)
        ahead, back = _split(streams[INDEX[converter]], scratch)
        gives, gets = (ahead, back) if sign > 0 else (back, ahead)
        known = {name: flow for name, flow in feeding.items() if flow is not None}
        return cls(
            tuple(feeding),
            known,
            {name: flow for name, flow in fed.items() if flow is not None},
            gives,
            gets,
            _shares([*known.values(), *([] if gets is None else [gets])], scratch),
        )


def _split(stream: Floats, scratch: Scratch) -> tuple[Floats | None, Floats | None]:
    """What runs ahead and what runs back, both not negative; None for what never runs."""
    if stream.min(initial=0.0) >= 0:
        return stream, None
    back = scratch.take()
    if stream.max(initial=0.0) <= 0:
        return None, np.subtract(0.0, stream, out=back)
    ahead = scratch.take()
    np.maximum(stream, 0.0, out=ahead)
    return ahead, np.subtract(ahead, stream, out=back)


def _shares(inflows: list[Floats], scratch: Scratch) -> Floats:
    """1 / the sum of what feeds a bus."""
    share = scratch.take()
    if not inflows:
        share.fill(0.0)
    total = inflows[0] if inflows else share
    for inflow in inflows[1:]:
        total = np.add(total, inflow, out=share)
    np.maximum(total, _LEAST, out=share)
    return np.reciprocal(share, out=share)


def _reached(bus: _Bus, beyond: _Bus, product: Product, scratch: Scratch) -> dict[str, Floats]:
    """What the sources of a bus share: its own sinks, those that it feeds beyond the converter, and the loss."""
    reached = dict(bus.sinks)
    if bus.gives is not None:
        loss = scratch.take()
        reached["losses"] = np.subtract(bus.gives, 0.0 if beyond.gets is None else beyond.gets, out=loss)
    if beyond.gets is not None:
        passed = scratch.take()
        product(beyond.gets, beyond.share, passed)
        for name, sink in beyond.sinks.items():
            reached[name] = scratch.take()
            product(passed, sink, reached[name])
    return reached


def _pour(
    part: Floats | None, source: str, reached: dict[str, Floats], out: Floats, product: Product
) -> None:
    """Fill a source's row of the table. No stream that runs both ways feeds itself."""
    for column, sink in enumerate(SINKS):
        target = out[SOURCES.index(source), column]
        if part is None or sink not in reached or sink == source:
            target.fill(0.0)
        else:
            product(part, reached[sink], target)


def _known_product(a: Floats, b: Floats, out: Floats) -> None:
    """The product, where nothing times an unknown is nothing."""
    nothing = (a == 0) | (b == 0)
    np.multiply(a, b, out=out)
    out[nothing] = 0.0
