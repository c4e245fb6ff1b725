"""Many futures drawn from few recorded days: a block bootstrap of whole days that also says how little it knows.

The smallest block is a whole day, because load and sun both run by the clock and midnight is the quietest place
to cut. Days come in blocks of consecutive recorded days of random length, as weather comes in spells (the
stationary bootstrap of Politis & Romano 1994), with a mean length of the cube root of the number of days, which is
its usual order. A day is only drawn for a date that lies in the same season as the day, as far as the recording
reaches.

Drawing from the same days in every run would make all runs alike over many days: the mean of the recorded days
would pass for the truth. So each run first draws how much it believes each recorded day (the Bayesian bootstrap of
Rubin 1981). A handful of days can't tell how different days are; up to the spread that households and weather
usually show (common practice, no source), a factor for the run as a whole stands in for the days not seen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.outlook.days import Days
from desktop.charging.outlook.plants import DOUBTS

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SEASON_DAYS = 30
"""A recorded day stands for dates up to so many days earlier or later in the year."""

LEAST_DAYS = 14
"""So many recorded days are drawn from at least, however far from the season they lie."""

USUAL_LOAD_SPREAD = 0.3
USUAL_SUN_SPREAD = 0.6
"""How far a day is usually off the mean of days, as a share of it."""

TYPED_SD = 0.2
"""How far what a person types in is usually off, as a share (assumed)."""

_BELIEF_DAYS = 4
"""How many recorded days the usual spread weighs as much as."""

_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Draws:
    """What each run lives through.

    day          (horizon, runs) which of the recorded days
    load_factor, sun_factor, fuel_factor  (runs,) by which load, solar and the burnt fuel are multiplied
    doubts       (DOUBTS, runs) by how many standard deviations the plant is another than it is taken for
    """

    day: Ints
    load_factor: Floats
    sun_factor: Floats
    fuel_factor: Floats
    doubts: Floats


def draw(days: Days, *, runs: int, horizon: int, first_date: int, seed: int, fuel_sd: float = 0.0) -> Draws:
    """Draw `runs` futures of `horizon` days that begin on a date (days since 1970-01-01).

    fuel_sd  how well the fuel curve is known, one standard deviation as a share
    """
    chance = np.random.default_rng(seed)
    belief = chance.gamma(np.broadcast_to(days.weight, (runs, len(days))))
    day = np.empty((horizon, runs), np.int64)
    follows = np.append(np.diff(days.date) == 1, False) & days.in_order
    going_on = 1 - 1 / block_days(len(days))
    for number in range(horizon):
        fresh = _drawn(belief * in_season(days.date, first_date + number), chance)
        if number:
            before = day[number - 1]
            goes_on = follows[before] & (chance.random(runs) < going_on)
            fresh = np.where(goes_on, before + 1, fresh)
        day[number] = fresh
    told = float(days.weight.sum())
    load_sd = TYPED_SD if days.load_typed else unseen_sd(days.demand_wh, told, USUAL_LOAD_SPREAD)
    sun_sd = TYPED_SD if days.sun_typed else unseen_sd(days.sun_wh, told, USUAL_SUN_SPREAD)
    load, sun, fuel = (np.exp(sd * chance.standard_normal(runs)) for sd in (load_sd, sun_sd, fuel_sd))
    return Draws(day, load, sun, fuel, chance.standard_normal((DOUBTS, runs)))


def block_days(count: int) -> float:
    """The mean length of a block of consecutive days."""
    return float(max(1, count) ** (1 / 3))


def in_season(dates: Ints, date: int) -> NDArray[np.bool_]:
    """(d,) True for the recorded days that can stand for a date."""
    apart = year_apart(dates, date)
    enough = np.sort(apart)[min(LEAST_DAYS, len(dates)) - 1]
    near: NDArray[np.bool_] = apart <= max(SEASON_DAYS, float(enough))
    return near


def year_apart(dates: Ints, date: int) -> Floats:
    """(d,) How far apart they lie in the year, days."""
    apart = np.abs(dates - date) % _YEAR
    nearer: Floats = np.minimum(apart, _YEAR - apart)
    return nearer


def unseen_sd(daily: Floats, count: float, usual: float) -> float:
    """What is to be added to how unsure the mean of these days is, as one standard deviation of its logarithm.

    daily  (d,) energies
    count  how many whole days were recorded; less than d where days were filled in
    usual  how far a day is usually off the mean, as a share of it
    """
    count, mean = max(1.0, count), float(daily.mean())
    if not mean > 0:
        return 0.0
    spread = float(daily.std() / mean)
    believed = (_BELIEF_DAYS * usual**2 + count * spread**2) / (_BELIEF_DAYS + count - 1)
    # The draw of beliefs has this variance of the mean already (Rubin 1981).
    already = spread**2 / (count + 1)
    return math.sqrt(max(0.0, believed / count - already))


def _drawn(weights: Floats, chance: np.random.Generator) -> Ints:
    """(runs,) one column of each row of weights, drawn in proportion to them."""
    reached = np.cumsum(weights, axis=1)
    wanted = chance.random((len(weights), 1)) * reached[:, -1:]
    column: Ints = np.minimum((reached <= wanted).sum(axis=1), weights.shape[1] - 1)
    return column
