"""A solar array: what it could give at each moment."""

from __future__ import annotations

import random

from drivers.plant.clock import Clock
from drivers.plant.clouds import Clouds
from drivers.plant.scenario_parts import Solar as Numbers
from drivers.plant.sun import clear_sky, sun_position

_LOOK_S = 30.0
_LEAST_SHARE = 0.002


class Solar:
    """`available` in W at the terminals of the charge controller or inverter.

    The clear day is worked out twice a minute and joined by straight lines; clouds come on top.
    """

    def __init__(
        self, numbers: Numbers, clock: Clock, latitude: float, longitude: float, noise: random.Random
    ) -> None:
        self.numbers = numbers
        self._clock, self._latitude, self._longitude = clock, latitude, longitude
        self._clouds = Clouds(numbers, noise)
        self._from = 0.0
        self._before = self.clear_day(0.0)
        self._after = self.clear_day(_LOOK_S)
        self.available = self._before * self._clouds.through

    def clear_day(self, now: float) -> float:
        """What it would give without clouds, W."""
        numbers = self.numbers
        zenith, azimuth = sun_position(self._clock.days_since_2000(now), self._latitude, self._longitude)
        light = clear_sky(zenith, azimuth, numbers.tilt, numbers.azimuth)
        watts = numbers.rated_w * numbers.efficiency * light / 1000.0
        return watts if watts > _LEAST_SHARE * numbers.rated_w else 0.0

    def shine(self, now: float, dt: float) -> float:
        """Go on to `now`, `dt` seconds later, and give what is available, W."""
        while now >= self._from + _LOOK_S:
            self._from += _LOOK_S
            self._before, self._after = self._after, self.clear_day(self._from + _LOOK_S)
        through = self._clouds.pass_by(now, dt)
        clear = self._before + (self._after - self._before) * (now - self._from) / _LOOK_S
        self.available = min(clear * through, self.numbers.rated_w)
        return self.available
