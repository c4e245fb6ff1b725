"""All checks of a plant's settings."""

from __future__ import annotations

import math
from dataclasses import dataclass

from desktop.diagnosis.plant import Plant
from desktop.diagnosis.settings_check.at_battery import (
    charge_within_temperatures,
    charger_off_on_grid,
    charger_within_battery,
    cut_off_above_reserve,
)
from desktop.diagnosis.settings_check.at_generator import (
    charger_on_with_generator,
    limit_as_given,
    limit_within_circuit,
    limit_within_rating,
)
from desktop.diagnosis.settings_check.book import SettingsEvidence
from desktop.diagnosis.settings_check.check import Check
from desktop.flow.learned import Learned
from desktop.site import Site

_CHECKS = (
    limit_within_rating,
    limit_within_circuit,
    limit_as_given,
    charger_within_battery,
    charger_on_with_generator,
    charger_off_on_grid,
    cut_off_above_reserve,
    charge_within_temperatures,
)


@dataclass(frozen=True, slots=True)
class _SheetAlone:
    """What a sheet says of what is otherwise learned."""

    volts: float
    hz: float
    interval_s: float = math.nan
    gap_s: float = math.nan


def settings_check(
    site: Site, learned: Learned | None = None, seen: SettingsEvidence | None = None
) -> tuple[Check, ...]:
    """Check the settings: by the sheet alone, or with what a recording taught and showed.

    What is about the grid is left out where a recording shows none and the sheet says nothing of it.
    """
    facts = learned or _SheetAlone(site.generator.volts or math.nan, site.generator.hz or math.nan)
    plant = Plant.of(facts, site)
    no_grid = learned is not None and not learned.network.has("grid") and site.charger.on_grid is None
    return tuple(check(plant, seen) for check in _CHECKS if not (no_grid and check is charger_off_on_grid))
