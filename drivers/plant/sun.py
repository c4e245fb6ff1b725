"""Where the sun stands, and what a clear sky gives on a tilted plane."""

from __future__ import annotations

import math

_SOLAR_CONSTANT = 1353.0
_DIFFUSE = 0.10


def sun_position(days: float, latitude: float, longitude: float) -> tuple[float, float]:
    """(zenith, azimuth from north) of the sun in degrees, without refraction.

    The low-precision formulas of the Astronomical Almanac, good to 0.01° between 1950 and 2050.

    days  since 2000-01-01 12:00 UTC
    """
    anomaly = math.radians((357.528 + 0.9856003 * days) % 360.0)
    mean = (280.460 + 0.9856474 * days) % 360.0
    ecliptic = math.radians(mean + 1.915 * math.sin(anomaly) + 0.020 * math.sin(2.0 * anomaly))
    tilt = math.radians(23.439 - 4e-7 * days)
    ascension = math.atan2(math.cos(tilt) * math.sin(ecliptic), math.cos(ecliptic))
    declination = math.asin(math.sin(tilt) * math.sin(ecliptic))
    sidereal = (18.697374558 + 24.06570982441908 * days) % 24.0 * 15.0
    hour = math.radians(sidereal + longitude) - ascension
    phi = math.radians(latitude)
    up = math.sin(phi) * math.sin(declination) + math.cos(phi) * math.cos(declination) * math.cos(hour)
    north = math.cos(phi) * math.sin(declination) - math.sin(phi) * math.cos(declination) * math.cos(hour)
    east = -math.cos(declination) * math.sin(hour)
    zenith = math.degrees(math.acos(max(-1.0, min(1.0, up))))
    return zenith, math.degrees(math.atan2(east, north)) % 360.0


def clear_sky(zenith: float, azimuth: float, tilt: float, facing: float) -> float:
    """Irradiance on a plane under a clear sky, W/m²; 0 at night.

    Direct light by air mass (Meinel 1976: 1353 · 0.7^(m^0.678)), air mass after Kasten & Young 1989, and a
    tenth of it as light from the sky; quoted from memory.
    """
    if zenith >= 90.0:
        return 0.0
    mass: float = 1.0 / (math.cos(math.radians(zenith)) + 0.50572 * (96.07995 - zenith) ** -1.6364)
    direct: float = _SOLAR_CONSTANT * 0.7 ** (mass**0.678)
    z, t = math.radians(zenith), math.radians(tilt)
    incidence = math.cos(z) * math.cos(t) + math.sin(z) * math.sin(t) * math.cos(
        math.radians(azimuth - facing)
    )
    return direct * (max(0.0, incidence) + _DIFFUSE * (1.0 + math.cos(t)) / 2.0)
