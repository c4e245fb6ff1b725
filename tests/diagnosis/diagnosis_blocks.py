"""Blocks built by hand, and what a diagnosis finds in them."""

from __future__ import annotations

from dataclasses import dataclass, fields
from itertools import pairwise

import numpy as np

from desktop.diagnosis.finding import Finding
from desktop.diagnosis.findings import Diagnosis
from desktop.flow.block import Block
from desktop.flow.streams import CHANNEL_OF, STREAMS
from desktop.site import Site

SECOND = 1_000_000_000
START = 1_767_225_600 * SECOND

SHEET = {
    "generator": {"rated_w": 7500, "volts": 230, "legs": 1, "hz": 50, "fuel": "diesel"},
    "input": {"limit_a": 25},
    "charger": {"limit_a": 80},
    "battery": {
        "chemistry": "lfp",
        "capacity_kwh": 15,
        "nominal_v": 51.2,
        "absorb_v": 56.0,
        "max_charge_a": 150,
    },
}


@dataclass(frozen=True)
class Facts:
    """What is learned of a recording."""

    interval_s: float = 1.0
    gap_s: float = 60.0
    volts: float | None = 230.0
    hz: float | None = 50.0


def sheet(**sections: dict[str, object]) -> Site:
    """The usual sheet with some keys of some sections changed (None takes one away)."""
    table = {name: dict(keys) for name, keys in SHEET.items()}
    for name, keys in sections.items():
        table[name] = {
            key: value for key, value in {**table.get(name, {}), **keys}.items() if value is not None
        }
    return Site.of(table)


def running(n: int, *, off: int = 60, warm: int = 180, seed: int = 5) -> dict[str, np.ndarray]:
    """A healthy run of a set: `off` rows of standstill, `warm` rows unloaded, then load and charge. Noise as of
    meters, so that nothing repeats."""
    chance = np.random.default_rng(seed)
    row = np.arange(n)
    on, loaded = row >= off, row >= off + warm
    load = 600 + chance.normal(0, 3, n)
    charge = np.where(loaded, 4200 + chance.normal(0, 8, n), 0.0)
    generator = np.where(loaded, load + charge, 0.0)
    loss = 40 + 0.06 * np.where(loaded, charge, load)
    battery = np.where(loaded, charge - loss, -load - loss)
    volts = 53 + battery / 8000
    return {
        "generator_power": generator,
        "generator_voltage": np.where(on, 230 + chance.normal(0, 0.3, n), 0.0),
        "generator_frequency": np.where(on, np.where(loaded, 50.2, 51.5) + chance.normal(0, 0.02, n), 0.0),
        "load_power": load,
        "battery_power": battery,
        "battery_voltage": volts,
        "battery_current": battery / volts,
        "battery_soc": 45 + np.cumsum(battery) / 3600 / 15000 * 100,
        "battery_temperature": np.full(n, 18.0),
        "converter_ac_power": charge - np.where(loaded, 0.0, load),
        "converter_dc_power": battery + chance.normal(0, 2, n),
    }


def block(
    channels: dict[str, np.ndarray],
    *,
    step_s: float | np.ndarray = 1.0,
    gap_s: float = 60.0,
    unaccounted: dict[str, np.ndarray] | None = None,
    sd: float = 20.0,
) -> Block:
    """A block whose streams are as metered; streams without a meter are no part of the plant."""
    n = len(next(iter(channels.values())))
    steps = np.broadcast_to(np.asarray(step_s, dtype=np.float64), (n,)).copy()
    time = START + np.concatenate(([0], np.cumsum(steps[1:] * SECOND))).astype(np.int64)
    steps[0] = np.nan
    measured = np.full((len(STREAMS), n), np.nan)
    for row, name in enumerate(STREAMS):
        if CHANNEL_OF.get(name) in channels:
            measured[row] = channels[CHANNEL_OF[name]]
    missing = np.full((3, n), np.nan)
    for place, values in (unaccounted or {}).items():
        missing[("ac", "dc", "both").index(place)] = values
    return Block(
        start=0,
        time=time,
        step=steps,
        gap=steps > gap_s,
        channels={name: np.asarray(values, dtype=np.float64) for name, values in channels.items()},
        measured=measured,
        derived=frozenset(),
        value=np.where(np.isnan(measured).all(axis=1, keepdims=True), 0.0, measured),
        sd=np.full(measured.shape, sd),
        unaccounted=missing,
        unaccounted_sd=np.full(missing.shape, sd),
        chi2=np.zeros(n),
        dof=np.ones(n, np.int8),
        traced=np.zeros((5, 5, n)),
    )


def part(whole: Block, start: int, stop: int) -> Block:
    """Some rows of a block as a block."""
    cut = {}
    for field in fields(Block):
        value = getattr(whole, field.name)
        if isinstance(value, np.ndarray):
            value = value[..., start:stop]
        elif isinstance(value, dict):
            value = {name: column[start:stop] for name, column in value.items()}
        cut[field.name] = value
    cut["start"] = whole.start + start
    return Block(**cut)


def findings(
    whole: Block, site: Site | None = None, facts: Facts | None = None, cuts: tuple[int, ...] = (), jumps=()
) -> tuple[Finding, ...]:
    """All findings of a block that is taken in parts."""
    diagnosis = Diagnosis(facts or Facts(), site or sheet(), jumps)
    for start, stop in pairwise((0, *sorted(cuts), len(whole))):
        diagnosis.extend(part(whole, start, stop))
    return diagnosis.findings()


def kinds(*arguments, **options) -> list[str]:
    """The kinds of all findings, in order of start."""
    return [finding.kind for finding in findings(*arguments, **options)]


def the(kind: str, *arguments, **options) -> Finding:
    """The one finding of a kind."""
    found = [finding for finding in findings(*arguments, **options) if finding.kind == kind]
    assert len(found) == 1, [str(finding.text) for finding in found]
    return found[0]


def second(finding: Finding) -> tuple[float, float | None]:
    """Start and end in seconds since the first row."""
    end = None if finding.end is None else (finding.end - START) / SECOND
    return (finding.start - START) / SECOND, end
