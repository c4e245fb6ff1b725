"""Logs of a physical cell model, whose truth comes from a full cycle that the log doesn't hold.

The data are from PyBaMM, single particle model with electrolyte (SPMe), parameter sets Prada2013 (iron phosphate)
and Chen2020 (nickel manganese cobalt); version and truth stand in the files' heads.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from battery_help import judged, recording

from desktop.site import Site

DATA = Path(__file__).parent / "data"
KILO = 100.0
"""Cells in parallel, so that currents are those of a house."""


def _cell(name):
    text = (DATA / name).read_text(encoding="utf-8")
    truth = [float(found) for found in re.findall(r"([0-9.]+) (?:Ah|Wh|ohm)", text)]
    _, ah, out_wh, _, in_wh, first_ohm, later_ohm = truth
    columns = np.loadtxt(text.splitlines(), delimiter=",", skiprows=4).T
    return columns, (ah, out_wh, in_wh, first_ohm, later_ohm)


@pytest.mark.parametrize(
    ("name", "chemistry", "cells"), [("lfp_cell.csv", "lfp", 16), ("nmc_cell.csv", "nmc", 14)]
)
@pytest.mark.parametrize("step", [0.1, 1.0])
def test_a_physical_cell(name, chemistry, cells, step):
    (seconds, amperes, volts, soc), (ah, out_wh, in_wh, first_ohm, later_ohm) = _cell(name)
    current, voltage = KILO * amperes, cells * volts
    rows = recording(
        {
            "battery_power": current * voltage,
            "battery_voltage": voltage,
            "battery_current": current,
            "battery_soc": np.round(soc / step) * step,
        },
        float(seconds[1]),
    )
    meter = {"percent": 1.0, "floor_w": 5}
    site = Site.of(
        {
            "battery": {"chemistry": chemistry, "nominal_v": cells * {"lfp": 3.2, "nmc": 3.7}[chemistry]},
            "meters": {
                "battery_power": meter,
                "battery_current": meter,
                "battery_voltage": {"percent": 0.2, "floor_w": 0},
            },
        }
    )
    facts = judged(rows, site)
    assert facts.capacity_ah.value == pytest.approx(KILO * ah, rel=0.015)
    assert facts.capacity_wh.low <= KILO * cells * out_wh <= facts.capacity_wh.high
    assert facts.fill_wh.low <= KILO * cells * in_wh <= facts.fill_wh.high
    assert facts.capacity_wh.value == pytest.approx(KILO * cells * out_wh, rel=0.025)
    assert facts.energy_efficiency.low <= out_wh / in_wh <= facts.energy_efficiency.high
    # No side reactions in this model: what goes in comes out.
    assert facts.coulombic.high >= 0.999
    resistance = facts.resistance
    assert resistance is not None
    bank_ohm = np.array([first_ohm, later_ohm]) * cells / KILO
    # Between what gives way within a second and what sags in half a minute, by the sd told.
    assert bank_ohm.min() - 2 * resistance.sd <= resistance.ohm <= bank_ohm.max() + 2 * resistance.sd
