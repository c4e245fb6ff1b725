"""Charge current against what the charger is set to and what the battery may take."""

from __future__ import annotations

import numpy as np

from desktop.diagnosis.alarm import Event
from desktop.diagnosis.limits import tripping
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Rows
from desktop.diagnosis.watch import Floats, Reading, Told, Watch, during
from desktop.flow.streams import INDEX
from desktop.words import Phrase

_SURE = 2.0
"""Standard deviations by which a current that is only computed must lie over."""

_CONSISTENT = 5.0


def charge_over_limit(plant: Plant) -> Watch:
    """The charger's own current over its limit, or the battery's over the battery's maximum.

    The sun may add to what the charger gives; so the charger's limit is held against the charger alone, and the
    battery's maximum against all that flows into the battery.
    """
    return Watch(
        "charge_over_limit",
        tripping(plant, plant.meter_margin("battery_current")),
        _measure,
        _tell,
        applies=_applies,
    )


def _applies(rows: Rows) -> bool:
    if rows.plant.battery_a > 0:
        return True
    return rows.plant.charger_a > 0 or "charge_limit" in rows.block.channels


def _measure(rows: Rows) -> Reading | None:
    by_battery, by_charger = _battery_current(rows), _charger_current(rows)
    plant = rows.plant
    over_battery = by_battery / plant.battery_a
    with np.errstate(divide="ignore", invalid="ignore"):
        over_charger = np.where(rows.charge_limit > 0, by_charger / rows.charge_limit, np.nan)
    charger = np.isnan(over_battery) | (over_charger > over_battery)
    value = np.where(charger, by_charger, by_battery)
    limit = np.where(charger, rows.charge_limit, plant.battery_a)
    return Reading(value, limit, {"charger": charger.astype(np.float64)})


def _battery_current(rows: Rows) -> Floats:
    read = rows.block.channel("battery_current")
    lost = np.isnan(read)
    if not lost.any():
        return read
    return np.where(lost, _amperes(rows, rows.power("battery")), read)


def _charger_current(rows: Rows) -> Floats:
    """As metered; else as far as the balance is sure of it, and only where the balance holds."""
    row = INDEX["converter_dc"]
    block = rows.block
    metered = block.measured[row]
    lost = np.isnan(metered)
    if lost.any():
        trusted = block.chi2 <= block.dof + _CONSISTENT * np.sqrt(2.0 * np.maximum(block.dof, 1))
        computed = np.where(trusted, block.value[row] - _SURE * block.sd[row], np.nan)
        metered = np.where(lost, computed, metered)
    return _amperes(rows, metered)


def _amperes(rows: Rows, power: Floats) -> Floats:
    volts = rows.block.channel("battery_voltage")
    with np.errstate(divide="ignore", invalid="ignore"):
        current: Floats = np.where(volts > 1.0, power / volts, np.nan)
    return current


def _tell(event: Event) -> Told:
    if event.at_peak.get("charger"):
        text = Phrase(
            "The charger gave up to {peak:A} on a limit of {limit:A}{during}.",
            peak=event.peak,
            limit=event.threshold,
            during=during(event),
        )
    else:
        text = Phrase(
            "The battery, which may take {limit:A}, was charged with up to {peak:A}{during}.",
            peak=event.peak,
            limit=event.threshold,
            during=during(event),
        )
    return Told(
        channel="battery_current",
        peak=event.peak,
        threshold=event.threshold,
        unit="A",
        title=Phrase("Charge current over the limit"),
        text=text,
        advice=Phrase(
            "Lower the charge current: generator and sun together must stay below what the battery's maker allows. "
            "Watch the battery's temperature. Work on the battery is for qualified persons."
        ),
    )
