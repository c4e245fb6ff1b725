"""Blocks made by hand, of a plant whose streams are simply told."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np

from desktop.flow.block import Block
from desktop.flow.streams import GAPS, INDEX, SINKS, SOURCES, STREAMS

SECOND = 1_000_000_000
START = 1_767_225_600 * SECOND


def block_of(
    seconds: object,
    *,
    gap_s: float = 60.0,
    channels: dict[str, object] | None = None,
    flows: dict[tuple[str, str], object] | None = None,
    **streams: object,
) -> Block:
    """A block of rows at these seconds after START. Streams not named are 0; sd is 1 % of each value.

    flows  (source, sink) → W of the source-to-sink table; the rest is 0
    """
    offsets = np.asarray(seconds, dtype=float)
    n = len(offsets)
    time = START + np.round(offsets * SECOND).astype(np.int64)
    value = np.zeros((len(STREAMS), n))
    for name, power in streams.items():
        value[INDEX[name]] = power
    table = np.zeros((len(SOURCES), len(SINKS), n))
    for (source, sink), power in (flows or {}).items():
        table[SOURCES.index(source), SINKS.index(sink)] = power
    step = np.concatenate(([np.nan], np.diff(time) / SECOND))
    return Block(
        start=0,
        time=time,
        step=step,
        gap=step > gap_s,
        channels={name: np.asarray(readings, float) for name, readings in (channels or {}).items()},
        measured=value.copy(),
        derived=frozenset(),
        value=value,
        sd=np.abs(value) * 0.01,
        unaccounted=np.full((len(GAPS), n), np.nan),
        unaccounted_sd=np.full((len(GAPS), n), np.nan),
        chi2=np.full(n, np.nan),
        dof=np.zeros(n, np.int8),
        traced=table,
    )


def cut(block: Block, *at: int) -> Iterator[Block]:
    """The block in pieces that end before each of these rows."""
    edges = [0, *sorted(at), len(block)]
    for start, stop in itertools.pairwise(edges):
        part = slice(start, stop)
        yield Block(
            start=block.start + start,
            time=block.time[part],
            step=block.step[part],
            gap=block.gap[part],
            channels={name: readings[part] for name, readings in block.channels.items()},
            measured=block.measured[:, part],
            derived=block.derived,
            value=block.value[:, part],
            sd=block.sd[:, part],
            unaccounted=block.unaccounted[:, part],
            unaccounted_sd=block.unaccounted_sd[:, part],
            chi2=block.chi2[part],
            dof=block.dof[part],
            traced=block.traced[:, :, part],
        )
