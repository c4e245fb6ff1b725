"""Charges of the simulated plant, and their reviewed minutes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from desktop.charging.counter import SessionCounter
from desktop.charging.forecast.forecast import Forecast, forecast
from desktop.charging.sessions import Session
from desktop.flow.learned import Learned, learn
from desktop.flow.minutes import Minutes
from desktop.flow.worker import Worker
from desktop.site import Site
from drivers.plant.scenario import Scenario
from drivers.plant.simulation import simulate
from recordings.recording import Recording

LFP = """
title = "A charge at noon"
[place]
name = "Barn"
timezone = "Europe/Berlin"
start = 2025-03-12T09:00:00
hours = 4.5
[log]
interval_s = 10
[generator]
rated_w = 6000
fuel = "diesel"
fuel_half_load = 1.3
fuel_full_load = 2.1
tank = 15
[input]
limit_a = 18
[charger]
limit_a = 90
rated_w = 5000
[battery]
chemistry = "lfp"
capacity_kwh = 14
soc = 31
target_soc = 80
[house]
base_w = [350]
[[cyclic]]
name = "fridge"
watts = 110
on_s = 700
off_s = 1500
[[random]]
name = "kettle"
watts = 1800
per_day = 14
run_s = 240
[[order]]
at = 10:30:00
do = "start"
[meters.battery_soc]
quantum = 1.0
"""

SUNNY = LFP.replace("soc = 31", "soc = 35") + '[solar]\nrated_w = 3000\ncover = 0.4\ncoupling = "dc"\n'

AGM = """
title = "Lead-acid charged three days running"
[place]
name = "Mill"
timezone = "America/New_York"
start = 2025-01-06T05:00:00
hours = 44
[log]
interval_s = 30
[generator]
rated_w = 4000
fuel = "gasoline"
fuel_half_load = 1.3
fuel_full_load = 2.0
tank = 40
tank_percent = 100
[input]
limit_a = 14
[charger]
limit_a = 60
rated_w = 3000
[battery]
chemistry = "agm"
capacity_kwh = 16
nominal_v = 48
soc = 45
target_soc = 85
[house]
base_w = [230]
[[random]]
name = "kettle"
watts = 1500
per_day = 8
run_s = 300
[auto]
start_soc = 45
stop_soc = 87
[meters.battery_soc]
quantum = 1.0
"""


QUICK = (
    AGM.replace("hours = 44", "hours = 4")
    .replace("limit_a = 14", "limit_a = 30")
    .replace("limit_a = 60", "limit_a = 120")
    .replace("rated_w = 3000", "rated_w = 6000")
    .replace("rated_w = 4000", "rated_w = 9000")
    .replace("soc = 45\n", "soc = 64\n")
    .replace("start_soc = 45", "start_soc = 65")
)


@dataclass(frozen=True)
class Charge:
    """A recording, what was really so, and what a review knows of it."""

    recording: Recording
    soc: np.ndarray
    site: Site
    learned: Learned
    minutes: Minutes
    sessions: tuple[Session, ...]

    def reached(self, session: Session, soc: float) -> int:
        """When the battery really stood there first in this session, UTC nanoseconds."""
        time = self.recording.time
        first = int(np.searchsorted(time, session.start))
        row = first + int(np.argmax(self.soc[first:] >= soc))
        assert self.soc[row] >= soc
        share = (soc - self.soc[row - 1]) / (self.soc[row] - self.soc[row - 1])
        return int(time[row - 1] + share * (time[row] - time[row - 1]))

    def said(self, at: int) -> Forecast | None:
        """The forecast at an instant."""
        return forecast(self.minutes, self.learned, self.site, at)


def reviewed(recording: Recording, soc: np.ndarray, site: Site) -> Charge:
    learned = learn(recording, site)
    worker, minutes, counter = Worker(learned, site), Minutes(), SessionCounter(learned, site)
    for start in range(0, len(recording), 16_384):
        block = worker.work(recording, start, min(len(recording), start + 16_384))
        minutes.extend(block)
        counter.extend(block)
    return Charge(recording, soc, site, learned, minutes, counter.sessions())


@cache
def charge(text: str, seed: int = 1) -> Charge:
    """A scenario, simulated and reviewed."""
    done = simulate(Scenario.parse(text), seed)
    soc = np.array(done.truth.column("battery_soc"), np.float64)
    return reviewed(done.recording, soc, Site.parse(done.site_toml))


def share_of(session: Session, end: int, share: float) -> int:
    """The instant at this share of the way from a session's start to an instant."""
    return session.start + round(share * (end - session.start))
