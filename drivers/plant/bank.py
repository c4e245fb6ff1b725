"""The battery of a scenario: cells of a chemistry put together, with the charge settings that fit it."""

from __future__ import annotations

from drivers.plant.battery import Battery
from drivers.plant.charge_stages import ChargeSettings
from drivers.plant.chemistry import CHEMISTRIES, Chemistry
from drivers.plant.scenario_parts import Battery as Numbers

_HEAT_J_PER_KWH_K = {"lfp": 9_000.0, "nmc": 6_000.0}
_LEAD_HEAT_J_PER_KWH_K = 25_000.0


def cells_of(numbers: Numbers) -> int:
    """Cells in series."""
    return max(1, round(numbers.nominal_v / CHEMISTRIES[numbers.chemistry].cell_v))


def ampere_hours(numbers: Numbers) -> float:
    """Capacity, Ah."""
    return numbers.capacity_kwh * 1000.0 / numbers.nominal_v


def bank(numbers: Numbers) -> Battery:
    """The battery, at rest."""
    kind, cells, ah = CHEMISTRIES[numbers.chemistry], cells_of(numbers), ampere_hours(numbers)
    ohm = numbers.resistance_ohm or cells * kind.ohm_c / ah
    return Battery(
        ah=ah,
        rest=kind.rest.scaled(cells),
        ohm=ohm,
        growth=kind.growth,
        efficiency=kind.efficiency,
        soc=numbers.soc,
        slow_ohm=cells * kind.slow_c / ah,
        slow_s=kind.slow_s,
        heat_j_k=numbers.capacity_kwh * _HEAT_J_PER_KWH_K.get(numbers.chemistry, _LEAD_HEAT_J_PER_KWH_K),
        air_c=numbers.air_c,
    )


def charge_settings(numbers: Numbers) -> ChargeSettings:
    """What the scenario says of charging, and the chemistry's usual values where it says nothing."""
    kind, cells, ah = CHEMISTRIES[numbers.chemistry], cells_of(numbers), ampere_hours(numbers)
    minutes = numbers.absorb_minutes
    mv = kind.mv_per_c if numbers.mv_per_cell_c is None else numbers.mv_per_cell_c
    return ChargeSettings(
        absorb_v=numbers.absorb_v or cells * kind.absorb_v,
        float_v=numbers.float_v or cells * kind.float_v,
        rebulk_v=_rebulk_v(kind, cells),
        tail_a=numbers.tail_a or kind.tail_c * ah,
        absorb_s=minutes * 60.0 if minutes else kind.absorb_h * 3600.0,
        volts_per_c=cells * mv / 1000.0,
        max_a=numbers.max_charge_a or kind.max_c * ah,
        taper_soc=kind.taper_soc,
        coldest_c=kind.coldest_c,
    )


def _rebulk_v(kind: Chemistry, cells: int) -> float:
    return cells * kind.rest(60.0)
