"""What a clear sky gives on a tilted plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.charging.forecast.zone_place import Place

Floats = NDArray[np.float64]

_EPOCH_2000_NS = 946_728_000_000_000_000
_DAY_NS = 86_400e9
_FLATTEST, _STEEPEST = 5.0, 60.0
_FACING_SD = 45.0
_DIFFUSE = 0.1


@dataclass(frozen=True, slots=True)
class Arrays:
    """k arrays that there may be, (k,) each: where, tilt and azimuth from north, degrees."""

    latitude: Floats
    longitude: Floats
    tilt: Floats
    azimuth: Floats

    @classmethod
    def drawn(cls, place: Place, count: int, chance: np.random.Generator) -> Arrays:
        """Most face the equator, more or less."""
        latitude = np.clip(place.latitude + place.latitude_sd * chance.standard_normal(count), -66, 66)
        longitude = place.longitude + place.longitude_sd * chance.standard_normal(count)
        azimuth = np.where(latitude > 0, 180.0, 0.0) + _FACING_SD * chance.standard_normal(count)
        return cls(latitude, longitude, chance.uniform(_FLATTEST, _STEEPEST, count), azimuth)

    def clear(self, time: NDArray[np.int64]) -> Floats:
        """(n, k) kW/m² on the arrays at n instants, UTC nanoseconds, under a clear sky; 0 at night.

        Direct light by air mass (Meinel 1976: 1353 · 0.7^(m^0.678)), air mass after Kasten & Young 1989, and a
        tenth of it as light from the sky; quoted from memory.
        """
        up, north, east = self._sun(time)
        high = up > 0
        sine = np.clip(up, 1e-3, 1.0)
        height = np.degrees(np.arcsin(sine))
        mass = 1.0 / (sine + 0.50572 * (height + 6.07995) ** -1.6364)
        direct = np.where(high, 1.353 * 0.7 ** (mass**0.678), 0.0)
        tilt, azimuth = np.radians(self.tilt), np.radians(self.azimuth)
        facing = up * np.cos(tilt) + np.sin(tilt) * (north * np.cos(azimuth) + east * np.sin(azimuth))
        lit: Floats = direct * (np.maximum(facing, 0.0) + _DIFFUSE * (1 + np.cos(tilt)) / 2)
        return lit

    def _sun(self, time: NDArray[np.int64]) -> tuple[Floats, Floats, Floats]:
        """(n, k) parts of the direction to the sun: up, north, east. Low-precision formulas of the Astronomical
        Almanac, good to 0.01°."""
        days = ((time - _EPOCH_2000_NS) / _DAY_NS)[:, None]
        anomaly = np.radians(357.528 + 0.9856003 * days)
        mean = 280.460 + 0.9856474 * days
        ecliptic = np.radians(mean + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly))
        slant = np.radians(23.439)
        ascension = np.arctan2(np.cos(slant) * np.sin(ecliptic), np.cos(ecliptic))
        sine = np.sin(slant) * np.sin(ecliptic)
        cosine = np.sqrt(1 - sine**2)
        sidereal = (18.697374558 + 24.06570982441908 * days) % 24.0 * 15.0
        hour = np.radians(sidereal + self.longitude) - ascension
        phi = np.radians(self.latitude)
        up = np.sin(phi) * sine + np.cos(phi) * cosine * np.cos(hour)
        north = np.cos(phi) * sine - np.sin(phi) * cosine * np.cos(hour)
        return up, north, -cosine * np.sin(hour)
