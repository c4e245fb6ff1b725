"""Batteries made by numbers, and what is judged of them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from desktop.charging.battery.book import BatteryBook
from desktop.charging.battery.facts import BatteryFacts
from desktop.charging.battery.judgement import judge_battery
from desktop.flow.block import Block
from desktop.flow.learned import learn
from desktop.flow.worker import Worker
from desktop.site import Site
from recordings.recording import Recording

START = 1_767_225_600_000_000_000

LFP_SOC = (0, 3, 10, 30, 60, 90, 98, 100)
LFP_V = (2.7, 3.05, 3.2, 3.28, 3.31, 3.34, 3.39, 3.55)
"""A curve of its own, not the one of the program's tables."""


@dataclass
class Cell:
    """A bank of 16 iron phosphate cells with one resistance.

    efficiency  share of the charge put in that stays
    """

    ah: float = 200.0
    ohm: float = 0.004
    efficiency: float = 1.0
    cells: int = 16

    def rest(self, soc):
        return self.cells * np.interp(soc, LFP_SOC, LFP_V)

    def run(self, amperes, seconds, soc):
        """(soc, volts) (n,) of a current into it that lasts `seconds` from each row to the next."""
        mean = 0.5 * (amperes[1:] + amperes[:-1])
        kept = np.where(mean > 0, self.efficiency, 1.0) * mean
        charge = np.concatenate(([0.0], np.cumsum(kept))) * seconds / 36.0 / self.ah
        level = soc + charge
        return level, self.rest(level) + amperes * self.ohm

    def delivers_wh(self, amperes):
        """Energy at the terminals of a whole discharge at a current."""
        return self.ah * (np.mean(self.rest(np.linspace(0, 100, 20_001))) - amperes * self.ohm)

    def takes_wh(self, amperes):
        """Energy that fills it at a current."""
        return (
            self.ah / self.efficiency * (np.mean(self.rest(np.linspace(0, 100, 20_001))) + amperes * self.ohm)
        )


def days(chance, ah, half_cycles, seconds, low=25.0, high=85.0):
    """A current that goes down and up between two states of charge; A into the battery, at steps of `seconds`."""
    parts, soc = [], high
    for turn in range(half_cycles):
        down = turn % 2 == 0
        target = (low if down else high) + chance.uniform(-5, 5)
        rate = ah * (chance.uniform(0.08, 0.15) if down else chance.uniform(0.2, 0.35))
        moved = abs(target - soc) / 100 * ah
        rows = round(moved / rate * 3600 / seconds)
        current = np.full(rows, -rate if down else rate)
        if down:
            # A kettle now and then.
            for _ in range(12):
                at = chance.integers(0, max(1, rows - 30))
                current[at : at + int(200 / seconds)] -= 0.15 * ah
            current *= moved / max(1e-9, -current.sum() * seconds / 3600)
        parts.append(current)
        soc = target
    return np.concatenate(parts)


def recording(columns, seconds):
    """Rows at steps of `seconds`."""
    n = len(next(iter(columns.values())))
    time = START + np.round(np.arange(n) * seconds * 1e9).astype(np.int64)
    return Recording.from_columns(time, columns)


def blocks(rows: Recording, site: Site, cuts=()) -> list[Block]:
    """The recording worked through, cut before these rows."""
    worker = Worker(learn(rows, site), site)
    edges = [0, *sorted(cuts), len(rows)]
    return [worker.work(rows, start, stop) for start, stop in pairwise(edges) if stop > start]


def book_of(rows: Recording, site: Site, cuts=()) -> BatteryBook:
    """The book of a recording."""
    book = BatteryBook(learn(rows, site), site)
    for block in blocks(rows, site, cuts):
        book.extend(block)
    return book


def judged(rows: Recording, site: Site | None = None, cuts=()) -> BatteryFacts:
    """What is judged of a recording."""
    site = Site() if site is None else site
    return judge_battery(book_of(rows, site, cuts).snapshot(), learn(rows, site), site)


def lfp_site(percent=1.0, **battery):
    """A sheet for 16 cells, with power and current meters of this class and a good voltmeter."""
    meter = {"percent": percent, "floor_w": 5}
    return Site.of(
        {
            "battery": {"chemistry": "lfp", "nominal_v": 51.2, **battery},
            "meters": {
                "battery_power": meter,
                "battery_current": meter,
                "battery_voltage": {"percent": 0.2, "floor_w": 0},
            },
        }
    )


def metered(current, volts, soc, chance=None, *, percent=0.0, step=1.0):
    """Columns as meters with one gain error tell them; the state of charge in steps of `step`."""
    gain = 1.0 if chance is None else 1 + percent / 100 * float(np.clip(chance.standard_normal(), -2, 2))
    return {
        "battery_power": current * volts * gain,
        "battery_voltage": volts,
        "battery_current": current * gain,
        "battery_soc": np.round(soc / step) * step,
    }
