"""One case: readings of chosen cells, and the equations that they must fulfil, ready to be fitted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.balances import (
    Equation,
    balances,
    charges,
    fallback,
    nothing,
    primary,
    products,
)
from desktop.diagnosis.suspects.book import Snapshot
from desktop.diagnosis.suspects.charge import Charge, charge_of
from desktop.diagnosis.suspects.meters import Meter
from desktop.diagnosis.suspects.nights import nights_of
from desktop.diagnosis.suspects.quantum import quantum_of
from desktop.diagnosis.suspects.rounding import HALF_STEP, UNIFORM, Rounding, told_sd
from desktop.diagnosis.suspects.sample import sampled
from desktop.flow.conversion import ASSUMED
from desktop.flow.learned import Learned
from desktop.flow.network import Network
from desktop.site import Site

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

SCATTER = 0.5
"""The share of a meter's class by which a single reading strays besides its constant gain error."""

IDLE_SD_W, SLOPE_SD, BEND_SD = 30.0, 0.035, 0.015
"""How far a healthy converter's loss may lie off the assumed law: idle loss, slope (each way of its own), and a
part that grows with the square of the load, as a share of the power at the greatest load."""

_LOSS_SCATTER = 0.005
_SMALL_CONVERTER_W = 1500.0
_CHARGE_COUNTED = 6.0
_STANDING_SHARE = 0.99

BESIDES = 7
"""Columns of a design behind the gains and offsets of meters; those of what rounding loses follow."""

_SOURCES = frozenset({"generator", "grid", "solar_ac", "solar"})


@dataclass(frozen=True, slots=True)
class Case:
    """J meters; n columns: sampled cells, then stretches over which the state of charge is compared.

    readings  (J, n) W as metered
    volts     (J, n) V by which amperes were multiplied; NaN for meters of power
    cells     number of each sampled cell in the snapshot; the stretches behind have none
    weight    (n,) how much each column counts
    charge    what the state of charge says, None where it says nothing
    quantum   (J,) W, the step in which each meter is told
    told_sd   (J, n) W that a reading may be off by that step
    rounding  readings that were told over and over
    idle_w    the assumed idle loss; size: how large the converter is beside those that the law is made for, 0..1
    """

    snapshot: Snapshot
    site: Site
    network: Network
    meters: tuple[Meter, ...]
    readings: Floats
    volts: Floats
    cells: Rows
    weight: Floats
    charge: Charge | None
    quantum: Floats
    told_sd: Floats
    rounding: Rounding
    size: float
    telling: Mapping[str, list[int]]
    instead: Mapping[str, list[int]]
    nights: Mapping[str, NDArray[np.bool_]]

    @classmethod
    def of(cls, snapshot: Snapshot, learned: Learned, site: Site) -> Case | None:
        """None where there is nothing to judge."""
        cells, counts = sampled(snapshot)
        if not len(cells):
            return None
        charge = charge_of(snapshot, site)
        readings, volts = snapshot.mean[:, cells], snapshot.volts[:, cells]
        weight = np.full(len(cells), counts)
        if charge is not None:
            extra = len(charge.power)
            readings = np.hstack((readings, charge.readings))
            volts = np.hstack((volts, np.full((len(volts), extra), np.nan)))
            weight = np.concatenate((weight, np.full(extra, min(1.0, _CHARGE_COUNTED / extra))))
        rated = site.inverter.rated_w or site.charger.rated_w
        quantum = quantum_of(snapshot)
        told = np.zeros_like(readings)
        told[:, : len(cells)] = told_sd(snapshot, cells, quantum)
        return cls(
            snapshot,
            site,
            _named(learned, site),
            snapshot.meters,
            readings,
            volts,
            cells,
            weight,
            charge,
            quantum,
            told,
            Rounding.of(snapshot, cells, quantum, readings.shape[1]),
            min(1.0, rated / _SMALL_CONVERTER_W) if rated else 1.0,
            primary(snapshot.meters),
            fallback(snapshot.meters),
            {stream: found[cells] for stream, found in nights_of(snapshot).items()},
        )

    def equations(self, readings: Floats) -> list[Equation]:
        """What holds, for these readings (J, n)."""
        count = len(self.cells)
        sampled_ = readings[:, :count]
        found = balances(self.meters, self.network, sampled_, self.telling)
        if self.instead:
            for each in balances(self.meters, self.network, sampled_, self.instead):
                used = self._replaced(each)
                cells = each.cells[np.any(np.isnan(sampled_[used][:, each.cells]), axis=0)]
                if len(cells):
                    found.append(replace(each, cells=cells))
        found += products(self.meters, sampled_)
        still = self.snapshot.still[self.cells] >= _STANDING_SHARE
        found += nothing(self.meters, "generator", sampled_, still)
        nowhere = np.zeros(count, np.bool_)
        for stream in ("solar", "solar_ac"):
            found += nothing(self.meters, stream, sampled_, self.nights.get(stream, nowhere))
        if self.charge is not None:
            stretches = np.arange(count, readings.shape[1])
            found += charges(self.meters, readings, stretches)
        return found

    def _replaced(self, equation: Equation) -> list[int]:
        """Meters of power whose place is taken by meters of amperes in an equation."""
        streams = {self.meters[row].stream for row in np.flatnonzero(equation.weights)}
        return [row for stream in streams for row in self.telling[stream] if not equation.weights[row]]

    def noise(self, readings: Floats, gain: Floats) -> Floats:
        """(J, n) one standard deviation of what a meter's reading strays from cell to cell.

        gain (J,) by what each meter's readings were multiplied
        """
        percent = np.array([meter.percent for meter in self.meters])[:, None]
        floor = np.array([max(meter.floor_w, 1.0) for meter in self.meters])
        told = self.told_sd * np.abs(gain)[:, None]
        noise: Floats = np.hypot(np.hypot(floor[:, None], told), SCATTER * percent / 100 * readings)
        return noise

    def scatter(self, readings: Floats, gain: Floats) -> Floats:
        """(J, n) the same of a cell's mean: of the floor only a share lasts, the more rows the less of the rest."""
        rows = np.ones(readings.shape[1])
        rows[: len(self.cells)] = np.maximum(self.snapshot.rows[self.cells], 1.0)
        percent = np.array([meter.percent for meter in self.meters])[:, None]
        floor = np.array([max(meter.floor_w, 1.0) for meter in self.meters])[:, None]
        left = np.sqrt(SCATTER**2 + (1 - SCATTER**2) / rows)
        told = self.told_sd * np.abs(gain)[:, None]
        scatter: Floats = np.hypot(np.hypot(floor * left, told), SCATTER * percent / 100 * readings)
        return scatter

    def exchanged(self, one: int, other: int) -> Case:
        """With the readings of two meters exchanged."""
        order = np.arange(len(self.meters))
        order[[one, other]] = other, one
        return replace(
            self,
            readings=self.readings[order],
            quantum=self.quantum[order],
            told_sd=self.told_sd[order],
            rounding=self.rounding.exchanged(one, other),
        )

    def through(self, readings: Floats) -> Floats:
        """(n,) power through the converter, positive while charging; NaN where nothing tells."""
        from_ac = self._end(readings, "converter_ac", ("generator", "grid", "solar_ac"), ("load",))
        from_dc = self._end(readings, "converter_dc", ("battery", "dc_load"), ("solar",))
        both = (from_ac + from_dc) / 2
        return np.where(np.isnan(both), np.where(np.isnan(from_ac), from_dc, from_ac), both)

    def _end(self, readings: Floats, own: str, adding: tuple[str, ...], taking: tuple[str, ...]) -> Floats:
        total = np.zeros(readings.shape[1])
        for sign, streams in ((1.0, adding), (-1.0, taking)):
            for stream in streams:
                if self.network.has(stream):
                    rows = self.telling.get(stream)
                    total = total + sign * readings[rows].sum(axis=0) if rows else total * np.nan
        rows = self.telling.get(own)
        if not rows:
            return total
        metered = readings[rows[0]]
        return np.where(np.isnan(metered), total, metered)


def _named(learned: Learned, site: Site) -> Network:
    """The streams that channels or sheet name. A source that was only added because the readings can't be without
    it is what has to be judged here: it may be unmetered, or a meter may lie.
    """
    network, metering = learned.network, learned.metering
    named = {*metering.direct, *metering.products}
    if site.given("solar"):
        named.add("solar_ac" if site.solar.coupling == "ac" else "solar")
    if site.given("generator") or metering.frequency or metering.voltages:
        named.add("generator")
    added = {"solar", "generator"} - named
    if not any(network.has(name) for name in _SOURCES - added):
        return network
    return Network(tuple(name for name in network.present if name not in added))


@dataclass(frozen=True, slots=True)
class System:
    """The equations of a case for corrected readings: y = D·β + error. r rows, p columns.

    cell    (r,) column of the case that each row belongs to
    buses   (r,) number of the equation that each row belongs to
    Columns of D: gains of the J meters, their offsets, idle loss, slope while charging, slope while inverting,
    bend, capacity, something constant at the AC and DC bus, and what is lost by rounding.
    """

    y: Floats
    design: Floats
    sigma: Floats
    weight: Floats
    cell: Rows
    equation: Rows
    equations: tuple[Equation, ...]

    @classmethod
    def of(cls, case: Case, readings: Floats, gain: Floats, creeps: int = -1) -> System:
        """readings: as corrected; gain (J,): by what they were multiplied; creeps: a meter that is off by as much
        where it reads nothing."""
        equations = case.equations(readings)
        noise = case.scatter(readings, gain)
        through = case.through(readings)
        parts = [_part(case, each, readings, noise, through, gain, creeps) for each in equations]
        if not parts:
            width = 2 * len(case.meters) + BESIDES + len(case.rounding.rows)
            nothing_ = np.empty(0)
            empty = np.empty(0, np.intp)
            return cls(nothing_, np.empty((0, width)), nothing_, nothing_, empty, empty, ())
        return cls(
            np.concatenate([part[0] for part in parts]),
            np.concatenate([part[1] for part in parts]),
            np.concatenate([part[2] for part in parts]),
            np.concatenate([case.weight[each.cells] for each in equations]),
            np.concatenate([each.cells for each in equations]),
            np.concatenate([np.full(len(each.cells), number) for number, each in enumerate(equations)]),
            tuple(equations),
        )

    def only(self, rows: NDArray[np.bool_]) -> System:
        """These rows (r,) of it."""
        return System(
            self.y[rows],
            self.design[rows],
            self.sigma[rows],
            self.weight[rows],
            self.cell[rows],
            self.equation[rows],
            self.equations,
        )


def prior_sd(case: Case) -> Floats:
    """(p,) how far healthy meters and converters stray, by the columns of `System`."""
    floor = np.array([max(meter.floor_w, 1.0) for meter in case.meters])
    percent = np.array([meter.percent for meter in case.meters]) / 100
    doubt = case.charge.doubt if case.charge is not None else 1.0
    rest = [IDLE_SD_W * case.size, SLOPE_SD, SLOPE_SD, BEND_SD, doubt, 1e-6, 1e-6]
    return np.concatenate((np.maximum(percent, 1e-4), floor, rest, case.rounding.sd))


def limit(case: Case) -> Floats:
    """(2, p) the least and most that they can stray: no converter gives more than it takes, and nothing is
    rounded by more than half a step.
    """
    least = np.full(2 * len(case.meters) + BESIDES, -np.inf)
    least[2 * len(case.meters) :][:3] = -ASSUMED.idle_w * case.size, -ASSUMED.slope, -ASSUMED.slope
    rounded = case.rounding.sd * (HALF_STEP / UNIFORM)
    found: Floats = np.stack((np.append(least, -rounded), np.append(np.full(len(least), np.inf), rounded)))
    return found


def _part(
    case: Case,
    equation: Equation,
    readings: Floats,
    noise: Floats,
    through: Floats,
    gain: Floats,
    creeps: int,
) -> tuple[Floats, Floats, Floats]:
    """y, design and sigma of one equation."""
    cells, weights = equation.cells, equation.weights[:, None]
    used = np.flatnonzero(equation.weights)
    meters = len(case.meters)
    taken = np.zeros((meters, len(cells)))
    taken[used] = readings[np.ix_(used, cells)] * weights[used]
    y = taken.sum(axis=0)
    variance = ((noise[np.ix_(used, cells)] * weights[used]) ** 2).sum(axis=0)
    besides = 2 * meters + BESIDES
    design = np.zeros((len(cells), besides + len(case.rounding.rows)))
    design[:, :meters] = taken.T
    for meter in used.tolist():
        # Meters don't creep: one that reads exactly nothing, and not by rounding, isn't off as it is else.
        coarse = case.quantum[meter] * abs(gain[meter]) > max(case.meters[meter].floor_w, 1.0)
        off = (case.readings[meter, cells] != 0) | coarse | (meter == creeps)
        design[:, meters + meter] = equation.weights[meter] * off
    design[:, besides:] = case.rounding.design(equation.weights, gain, cells)
    rest = design[:, 2 * meters : besides]
    if equation.loss:
        feed = np.abs(np.nan_to_num(through[cells]))
        charging = np.nan_to_num(through[cells]) >= 0
        y = y - ASSUMED.idle_w * case.size - ASSUMED.slope * feed
        rest[:, 0] = 1.0
        rest[:, 1], rest[:, 2] = np.where(charging, feed, 0.0), np.where(charging, 0.0, feed)
        rest[:, 3] = feed**2 / max(float(feed.max()), 1.0)
        variance = variance + (_LOSS_SCATTER * feed) ** 2
    if equation.charge and case.charge is not None:
        power = case.charge.power[cells - len(case.cells)]
        y = y - power
        rest[:, 4] = power
        variance = variance + case.charge.sd[cells - len(case.cells)] ** 2
    rest[:, 5], rest[:, 6] = float("ac" in equation.buses), float("dc" in equation.buses)
    return y, design, np.sqrt(variance)
