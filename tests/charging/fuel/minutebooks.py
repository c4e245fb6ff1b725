"""Minute books of a set that runs as told."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from desktop.charging.sessions import Session
from desktop.flow.block import Block
from desktop.flow.minutes import Minutes
from desktop.flow.streams import GAPS, INDEX, SINKS, SOURCES, STREAMS

START = 1_767_225_600_000_000_000
MINUTE = 60_000_000_000


@dataclass(frozen=True)
class Facts:
    """What is learned of a recording of one row each ten seconds."""

    interval_s: float = 10.0
    gap_s: float = 60.0
    volts: float | None = 230.0
    hz: float | None = 50.0


def minutes_of(power: np.ndarray, turning: np.ndarray | None, fuel: np.ndarray | None = None) -> Minutes:
    """A book of (m,) minutes with a generator of this power (W), that turns where told, and fuel levels (%)."""
    rows = 6
    n = rows * len(power)
    channels = {}
    if turning is not None:
        channels["generator_frequency"] = np.repeat(np.where(turning, 50.3, 0.0), rows)
    if fuel is not None:
        channels["fuel_level"] = np.repeat(fuel, rows)
    value = np.zeros((len(STREAMS), n))
    value[INDEX["generator"]] = np.repeat(power, rows)
    time = START + np.arange(n) * 10_000_000_000
    step = np.full(n, 10.0)
    step[0] = np.nan
    book = Minutes()
    book.extend(
        Block(
            start=0,
            time=time,
            step=step,
            gap=step > 60,
            channels=channels,
            measured=value,
            derived=frozenset(),
            value=value,
            sd=0.01 * np.abs(value),
            unaccounted=np.full((len(GAPS), n), np.nan),
            unaccounted_sd=np.full((len(GAPS), n), np.nan),
            chi2=np.full(n, np.nan),
            dof=np.zeros(n, np.int8),
            traced=np.zeros((len(SOURCES), len(SINKS), n)),
        )
    )
    return book


def session(first: int, last: int) -> Session:
    """A session over these minutes of the book."""
    nan = float("nan")
    start, end = START + first * MINUTE, START + last * MINUTE - 10_000_000_000
    return Session(start, end, *(9 * (nan,)), "normal")
