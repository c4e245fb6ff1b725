"""What a generator can really carry where it stands: its rating, less for thin and warm air.

ISO 3046-1 with the factors of ISO 15550 for a naturally aspirated engine limited by excess air, which small
sets are. Charged engines lose less: for them this is on the safe side.
"""

from __future__ import annotations

import math

from desktop.site import Site

REFERENCE_KPA = 100.0
REFERENCE_C = 25.0
REFERENCE_HUMIDITY = 0.3

_KELVIN = 273.15
_EARTH_M = 6_356_766.0
_TEMPERATURE_EXPONENT = 0.75
_MECHANICAL_EFFICIENCY = 0.8


def rated_w(site: Site) -> float:
    """What the generator can carry where it stands, W; NaN where the sheet gives no rating."""
    generator = site.generator
    if generator.rated_w is None:
        return math.nan
    return generator.rated_w * site_factor(generator.altitude_m, generator.air_c)


def site_factor(altitude_m: float, air_c: float) -> float:
    """The share of its rating that a set has left at this altitude and air temperature, 0..1.

    A rating doesn't rise above its plate where the air is better than at reference. Humidity is taken as at
    reference: the sheet doesn't tell it.
    """
    return min(1.0, max(0.0, power_factor_at(pressure_kpa(altitude_m), air_c, REFERENCE_HUMIDITY)))


def power_factor_at(air_kpa: float, air_c: float, humidity: float | None) -> float:
    """ISO 3046-1: power adjustment α of the air's pressure, temperature and relative humidity (0..1).

    `humidity` None leaves the water vapour out on both sides.
    """
    dry, dry_reference = air_kpa, REFERENCE_KPA
    if humidity is not None:
        dry -= humidity * _saturation_kpa(air_c)
        dry_reference -= REFERENCE_HUMIDITY * _saturation_kpa(REFERENCE_C)
    warmth = (_KELVIN + REFERENCE_C) / (_KELVIN + air_c)
    indicated: float = dry / dry_reference * warmth**_TEMPERATURE_EXPONENT
    return indicated - 0.7 * (1 - indicated) * (1 / _MECHANICAL_EFFICIENCY - 1)


def pressure_kpa(altitude_m: float) -> float:
    """Pressure of the standard atmosphere (ISO 2533) at a geometric altitude up to 11 km, kPa."""
    geopotential = _EARTH_M * altitude_m / (_EARTH_M + altitude_m)
    kpa: float = 101.325 * (1 - 2.25577e-5 * geopotential) ** 5.25588
    return kpa


def _saturation_kpa(celsius: float) -> float:
    # Magnus formula.
    return 0.61094 * math.exp(17.625 * celsius / (celsius + 243.04))
