"""What lies ahead of a charge: the house as it is now, and the sun as it goes down."""

from dataclasses import replace

import numpy as np
import pytest
from charges import SUNNY, charge

from desktop.charging.forecast.draw import Draw
from desktop.charging.forecast.sun import sun_ahead
from desktop.charging.forecast.view import View, view_of

MINUTE = 60_000_000_000


def seen() -> View:
    found = charge(SUNNY)
    at = found.sessions[0].start + 60 * MINUTE
    view = view_of(found.minutes, found.learned, found.site, at)
    assert view is not None
    return view


def test_a_cyclic_load_goes_on_in_its_rhythm():
    """Twenty minutes on, forty off: half of it over, it goes off in ten minutes, and comes again in fifty."""
    minutes = 300
    phase = np.arange(minutes) % 60
    house = np.where(phase < 20, 1500.0, 100.0)
    last = 250  # ten minutes of 240..260 are over
    time = np.arange(last) * MINUTE
    view = replace(seen(), end=last * MINUTE, time=time, first=0)
    drawn = Draw.like_now(view, house[:last], 60, 60.0, 400, np.random.default_rng(0))
    likely = (house[:last][drawn.rows] > 800).mean(axis=1)
    assert likely[:5].min() > 0.75
    assert likely[15:40].max() < 0.4
    assert likely[52:58].min() > 0.5


def test_towards_evening_the_sun_goes_down():
    """On a clear day as on a dull one; whether or not earlier days were recorded."""
    found = charge(SUNNY)
    view = seen()
    # 12 March in Berlin: sunset at 18:06 (common almanacs).
    evening = int(np.datetime64("2025-03-12T15:00:00", "ns").astype(np.int64))
    time = evening - np.arange(360, 0, -1) * MINUTE
    hours = (time - evening) / 3600e9 + 16.0
    for clearness in (1.0, 0.3):
        sun = clearness * 2000 * np.maximum(np.sin(np.pi * (hours - 6.4) / 11.7), 0.0)
        afternoon = replace(view, end=evening, time=time, first=300, sun=sun)
        seconds = (np.arange(180) + 0.5) * 60.0
        chance = np.random.default_rng(1)
        house = np.full(360, 300.0)
        drawn = Draw.like_now(afternoon, house, 180, 60.0, 200, chance)
        ahead = np.median(sun_ahead(afternoon, sun, found.site, seconds, drawn, chance), axis=1)
        assert ahead[0] == pytest.approx(sun[-1], rel=0.1)
        true = clearness * 2000 * np.sin(np.pi * (17.0 - 6.4) / 11.7)
        assert ahead[60] == pytest.approx(true, rel=0.35)
        assert ahead[60] < 0.75 * sun[-1]
        assert ahead[140:].max() < 0.15 * sun[-1]
