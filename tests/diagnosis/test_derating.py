"""What a set can carry in thin and warm air, against worked values."""

import math

import pytest

from desktop.charging.derating import power_factor_at, pressure_kpa, rated_w, site_factor
from desktop.site import Generator, Site


@pytest.mark.parametrize(
    ("kpa", "celsius", "alpha"),
    [(89.876, 30, 0.86795), (84.560, 40, 0.78267), (79.501, 25, 0.75914)],
)
def test_power_adjustment_in_dry_air(kpa, celsius, alpha):
    # Formula and exponents of ISO 3046-1 / ISO 15550 (a = 1, m = 1, n = 0.75, q = 0, mechanical efficiency
    # 0.8), quoted from memory; values worked by hand from it.
    assert power_factor_at(kpa, celsius, None) == pytest.approx(alpha, abs=2e-5)


@pytest.mark.parametrize(
    ("kpa", "celsius", "humidity", "alpha"),
    [(89.876, 30, 0.6, 0.84816), (84.560, 40, 0.3, 0.76654), (79.501, 25, 0.3, 0.75683)],
)
def test_power_adjustment_in_moist_air(kpa, celsius, humidity, alpha):
    # As above, with the water vapour taken out of the pressure.
    assert power_factor_at(kpa, celsius, humidity) == pytest.approx(alpha, abs=2e-5)


@pytest.mark.parametrize(
    ("metres", "kpa"), [(0, 101.325), (500, 95.4613), (1000, 89.8763), (1500, 84.5597), (3000, 70.1211)]
)
def test_standard_atmosphere(metres, kpa):
    # ISO 2533 / US Standard Atmosphere 1976, as the library "ambiance" 1.3.1 gives it.
    assert pressure_kpa(metres) == pytest.approx(kpa, abs=0.002)


def test_a_rating_never_rises_above_its_plate():
    assert site_factor(0, 25) == 1.0
    assert site_factor(0, -20) == 1.0


def test_the_standard_asks_for_a_little_more_than_the_textbooks_rule():
    # Agricultural-engineering textbook: 3 % per 1000 ft above 500 ft, diesel 1 % per 5 °F above 85 °F;
    # 10 kW at 5000 ft and 95 °F: 8.477 kW.
    # The standard counts from 25 °C, not from 29 °C.
    assert 0.9 * 8.477 < site_factor(1524, 35) * 10 < 8.477


def test_rating_at_the_site():
    assert math.isnan(rated_w(Site()))
    high = Site(generator=Generator(rated_w=7500, altitude_m=2000))
    assert rated_w(high) == pytest.approx(7500 * 0.75683, rel=1e-4)
