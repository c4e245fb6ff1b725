"""The outlook against the simulated plant itself, second by second."""

import numpy as np
import pytest
from plant_weeks import WEEKS, days_until_burnt, weeks

from desktop.charging.outlook.evidence import gather
from desktop.charging.outlook.planning import Wishes, plan
from desktop.site import Site
from drivers.plant.site_sheet import site_sheet

NO_SUN = WEEKS.replace("rated_w = 2400\ntilt", "rated_w = 1\ntilt")
# At midsummer the season stands still, and what two weeks show holds for the weeks after.
MIDSUMMER = WEEKS.replace("2025-10-06", "2025-06-12")
CLOUDY = MIDSUMMER.replace("rated_w = 2400", "rated_w = 800").replace("cover = 0.8", "cover = 0.9")
BRIGHT = MIDSUMMER.replace("cover = 0.8", "cover = 0.5").replace("base_w = [170]", "base_w = [650]")


def outlook_of(toml, days, fuel, **wishes):
    scenario, recording = weeks(toml, days, seed=101)
    site = Site.parse(site_sheet(scenario))
    rule = {"starts": (25.0,), "stops": (80.0,), "limits": (20.0,)}
    return plan(site, gather(recording, site), Wishes(fuel=fuel, soc=60, **(rule | wishes))).outlook


def within_five_percent(toml, days, fuel, seeds):
    chosen = outlook_of(toml, days, fuel).rules[0]
    truth = np.median([days_until_burnt(toml, fuel, seed) for seed in range(seeds)])
    return chosen.days_of_fuel.p50 == pytest.approx(truth, rel=0.05)


def test_days_of_fuel_are_those_of_the_plant():
    assert within_five_percent(NO_SUN, days=4, fuel=30.0, seeds=1)


@pytest.mark.slow
@pytest.mark.parametrize("toml", [CLOUDY, BRIGHT, NO_SUN], ids=["cloudy", "bright", "no sun"])
def test_days_of_fuel_are_those_of_many_plants(toml):
    assert within_five_percent(toml, days=14, fuel=45.0, seeds=5)
