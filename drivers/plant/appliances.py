"""Appliances as endless rows of (seconds, watts): what each draws, and for how long, one piece after another."""

from __future__ import annotations

import random
from collections.abc import Iterator

from drivers.plant.clock import Clock
from drivers.plant.scenario_parts import Appliance, Cyclic, Random, Scheduled

Pieces = Iterator[tuple[float, float]]

_FOREVER = 1e12


def run(appliance: Appliance, seconds: float) -> Pieces:
    """One run: inrush, then its profile or its watts."""
    if appliance.inrush > 1.0 and appliance.inrush_s > 0.0:
        yield appliance.inrush_s, appliance.watts * appliance.inrush
        seconds -= appliance.inrush_s
    if appliance.profile:
        for length, share in appliance.profile:
            yield length, appliance.watts * share
    elif seconds > 0.0:
        yield seconds, appliance.watts


def cyclic(appliance: Cyclic, noise: random.Random) -> Pieces:
    """Runs and rests by turns, from somewhere within a rest."""
    yield noise.uniform(0.0, appliance.off_s), 0.0
    while True:
        yield from run(appliance, appliance.on_s * _spread(appliance.spread, noise))
        yield appliance.off_s * _spread(appliance.spread, noise), 0.0


def scheduled(appliance: Scheduled, clock: Clock) -> Pieces:
    """Runs at its local times; a time that comes while it still runs is left out."""
    now = 0.0
    while (begin := _next_run(appliance, clock, now)) is not None:
        yield begin - now, 0.0
        now = begin
        for length, watts in run(appliance, appliance.run_s):
            yield length, watts
            now += length
    yield _FOREVER, 0.0


def _next_run(appliance: Scheduled, clock: Clock, now: float) -> float | None:
    if appliance.days:
        moments = [clock.seconds(at, day) for at in appliance.at for day in appliance.days]
    else:
        moments = [clock.next(at, now) for at in appliance.at]
    return min((moment for moment in moments if moment > now), default=None)


def now_and_then(appliance: Random, clock: Clock, noise: random.Random) -> Pieces:
    """Runs at random between its two local times of day."""
    now = 0.0
    first, last = clock.seconds(appliance.since), clock.seconds(appliance.until)
    mean = (last - first) / appliance.per_day
    while True:
        wait = noise.expovariate(1.0 / mean)
        while (local := clock.local(now + wait).time()) < appliance.since or local > appliance.until:
            wait += clock.next(appliance.since, now + wait) - now - wait + noise.expovariate(1.0 / mean)
        yield wait, 0.0
        now += wait
        for length, watts in run(appliance, appliance.run_s * _spread(appliance.spread, noise)):
            yield length, watts
            now += length


def base(watts: float, flicker: float, noise: random.Random) -> Pieces:
    """What always runs; it wanders a little."""
    wander = 0.0
    while True:
        wander = 0.9 * wander + noise.gauss(0.0, 0.44 * flicker)
        yield noise.uniform(3.0, 9.0), watts * max(0.2, 1.0 + wander)


def _spread(share: float, noise: random.Random) -> float:
    return 1.0 + noise.uniform(-share, share)
