"""What batteries of a chemistry usually are like: voltages and tail per cell, efficiency, rest voltage, cells.

Everything here is assumed, and to be shown as such, until the site sheet or the recording itself tells better.
"Common practice" marks facts of the trade without one source; they are good to a tenth or so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.site import Battery

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Range:
    """A usual value, and what 95 % of sound batteries lie within."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class RestVoltage:
    """Rest voltage of one cell at 25 °C over the state of charge, and where it tells something.

    soc, volts  rising points; straight between them
    settle_s    how long the current must have been small before the terminals may be believed
    sd          how well the table fits a battery of unknown make, percentage points, one standard deviation
    flat        volts per point below which hysteresis is larger than what the charge does
    """

    soc: tuple[float, ...]
    volts: tuple[float, ...]
    settle_s: float
    sd: float
    flat: float

    def at(self, soc: Floats) -> Floats:
        """(n,) volts per cell at states of charge in percent; flat outside 0..100."""
        volts: Floats = np.interp(soc, self.soc, self.volts)
        return volts

    def soc_at(self, volts: Floats) -> Floats:
        """(n,) state of charge at these rest voltages, percent; NaN outside the table."""
        soc: Floats = np.interp(volts, self.volts, self.soc, left=math.nan, right=math.nan)
        return soc

    def slope(self, volts: Floats) -> Floats:
        """(n,) volts per percentage point at these rest voltages; outside the table that of its end."""
        rise: Floats = np.diff(self.volts) / np.diff(self.soc)
        return rise[np.clip(np.searchsorted(self.volts, volts, side="right") - 1, 0, len(rise) - 1)]


@dataclass(frozen=True, slots=True)
class Chemistry:
    """Usual values of one chemistry. Voltages per cell at 25 °C; currents in C (1 C empties it in an hour).

    cell_v           nominal
    absorb_v, float_v  charge voltages
    tail_c           absorption is over when the current has fallen to this
    accept_c         the most that such a battery is charged with as a rule
    ohm_c            voltage that 1 C loses in the resistance, V
    taper_soc        state of charge at which the charge current begins to fall, charged at 0.2 C
    taper_c_per_soc  slope of the current that is accepted beyond it: C per percentage point
    coulombic        share of the charge put in that can be had back, over a whole charge
    energy           the same for energy, terminals to terminals
    mv_per_c         what charge voltages change per kelvin, mV
    peukert          exponent k of Peukert's law, t = H (C / (I H))^k
    rest             rest voltage
    """

    cell_v: float
    absorb_v: Range
    float_v: Range
    tail_c: Range
    accept_c: Range
    ohm_c: Range
    taper_soc: Range
    taper_c_per_soc: float
    coulombic: Range
    energy: Range
    mv_per_c: float
    peukert: float
    rest: RestVoltage

    @property
    def lead_acid(self) -> bool:
        """True for flooded, AGM and gel."""
        return self.cell_v < 2.5


_SETTLE_LEAD_S = 4 * 3600.0
"""Tables want some 20 hours of rest. After four what is left of the surface charge is within the table's own
doubt, where the battery was discharged before (common practice)."""

_REST_FLOODED = RestVoltage(
    (0.0, 25.0, 50.0, 75.0, 100.0), (1.950, 2.007, 2.039, 2.071, 2.109), _SETTLE_LEAD_S, 6.0, 0.001
)
"""The mean of four published tables for six cells at 100, 75, 50, 25, 0 %: a motorhome magazine (12.66, 12.45,
12.30, 12.15), a posting on a measuring technique list (12.6, 12.4, 12.2, 12.0, 11.6), a road sign's battery manual
(12.70, 12.41, 12.20, 11.95, 11.72 at 10 %) and a BCI-style table (12.65, 12.45, 12.24, 12.06, 11.89, quoted from
memory). They differ by some ± 10 points, hence an sd of 6."""

_REST_SEALED = RestVoltage(
    (0.0, 25.0, 50.0, 75.0, 100.0), (1.967, 2.008, 2.050, 2.092, 2.135), _SETTLE_LEAD_S, 6.0, 0.001
)
"""Common practice, no source: 12.8 V full and 12.3 V half full, of six cells; makers differ."""

_REST_LFP = RestVoltage(
    (0.0, 5.0, 10.0, 20.0, 30.0, 40.0, 60.0, 70.0, 90.0, 100.0),
    (2.80, 3.12, 3.20, 3.25, 3.28, 3.30, 3.31, 3.33, 3.34, 3.42),
    2 * 3600.0,
    3.0,
    0.004,
)
"""Common practice, no source. Between 20 and 90 % it rises by a millivolt or two per point and hysteresis is
larger than that: the plateau tells nothing."""

_REST_NMC = RestVoltage(
    (0.0, 5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0),
    (3.00, 3.33, 3.44, 3.55, 3.61, 3.66, 3.72, 3.81, 3.90, 4.00, 4.09, 4.19),
    2 * 3600.0,
    5.0,
    0.003,
)
"""Common practice, no source: typical of nickel-rich cells; makers differ by a few points."""

_LEAD_COULOMBIC = Range(0.87, 0.78, 0.95)
"""About 0.85 coulombic for lead-acid (battery design handbook on the web); Stevens & Corey, Sandia 1996: over
0.95 at low state of charge, 0.91 from 0 to 84 %, under 0.5 above 90 % (the figures quoted from memory). A sealed
battery's maker asks for 110 % of what was taken out, which is 0.91."""

_LEAD_ENERGY = Range(0.77, 0.65, 0.88)
"""Published 0.70 to 0.84 for lead-acid; a round trip of about 0.80 in common practice."""

_LITHIUM_COULOMBIC = Range(0.995, 0.98, 1.0)
"""Over 0.99 for lithium-ion (battery design handbook on the web)."""

LFP = Chemistry(
    cell_v=3.2,
    # 3.65 V is the absolute limit of a maker's data sheet; daily use has 3.45 to 3.50 V (common practice).
    absorb_v=Range(3.50, 3.40, 3.65),
    float_v=Range(3.37, 3.32, 3.45),
    # Charging stops at 0.1 or 0.05 C in makers' data sheets.
    tail_c=Range(0.05, 0.02, 0.10),
    # 0.2 to 0.5 C, quoted from memory.
    accept_c=Range(0.5, 0.2, 1.0),
    ohm_c=Range(0.05, 0.01, 0.12),
    # A single-particle model (parameter set Prada2013) takes 0.5 C to 99.5 %; electronics begin before.
    taper_soc=Range(98.0, 90.0, 99.5),
    taper_c_per_soc=0.10,
    coulombic=_LITHIUM_COULOMBIC,
    # Cell round trip 0.92 to 0.98, quoted from memory.
    energy=Range(0.95, 0.90, 0.985),
    mv_per_c=0.0,
    peukert=1.02,
    rest=_REST_LFP,
)

NMC = Chemistry(
    cell_v=3.7,
    # Lithium-ion ends at 4.20 V, with about 85 % at the end of constant current (Battery University BU-409,
    # quoted from memory). Storage systems stay a little below.
    absorb_v=Range(4.15, 4.00, 4.20),
    float_v=Range(4.05, 3.90, 4.20),
    tail_c=Range(0.03, 0.02, 0.05),
    accept_c=Range(0.5, 0.2, 1.0),
    ohm_c=Range(0.10, 0.03, 0.25),
    taper_soc=Range(88.0, 75.0, 95.0),
    taper_c_per_soc=0.03,
    coulombic=_LITHIUM_COULOMBIC,
    # 0.99 at 0.05 C and 0.97 at 0.5 C (Battery University BU-808c, quoted from memory); older 0.85 to 0.95.
    energy=Range(0.94, 0.87, 0.985),
    mv_per_c=0.0,
    peukert=1.03,
    rest=_REST_NMC,
)

FLOODED = Chemistry(
    cell_v=2.0,
    # Absorption 2.40 to 2.49, float 2.17 to 2.25 V, quoted from memory; float 2.30 in another table.
    absorb_v=Range(2.45, 2.35, 2.50),
    float_v=Range(2.22, 2.17, 2.30),
    # Common practice: 1 to 3 % of the capacity per hour at the end of absorption.
    tail_c=Range(0.02, 0.01, 0.03),
    accept_c=Range(0.13, 0.10, 0.25),
    ohm_c=Range(0.20, 0.05, 0.40),
    # Constant current brings about 70 %, topping the rest (Battery University BU-403, quoted from memory).
    taper_soc=Range(75.0, 65.0, 85.0),
    taper_c_per_soc=0.007,
    coulombic=_LEAD_COULOMBIC,
    energy=_LEAD_ENERGY,
    # −3 mV in one published text, −5 mV in a battery maker's guide.
    mv_per_c=-4.0,
    # Makers give 1.2 and more (published examples of Peukert's law).
    peukert=1.25,
    rest=_REST_FLOODED,
)

AGM = Chemistry(
    cell_v=2.0,
    # Absorption 2.35 to 2.45, float 2.22 to 2.28 V, quoted from memory; cyclic 2.40 to 2.45, float 2.25 to
    # 2.30 V in a sealed battery's data sheet.
    absorb_v=Range(2.40, 2.33, 2.45),
    float_v=Range(2.26, 2.20, 2.30),
    tail_c=Range(0.02, 0.01, 0.03),
    accept_c=Range(0.20, 0.10, 0.30),
    ohm_c=Range(0.12, 0.03, 0.30),
    taper_soc=Range(78.0, 65.0, 88.0),
    taper_c_per_soc=0.009,
    coulombic=_LEAD_COULOMBIC,
    energy=_LEAD_ENERGY,
    mv_per_c=-4.0,
    peukert=1.15,
    rest=_REST_SEALED,
)

GEL = Chemistry(
    cell_v=2.0,
    # Bulk 2.40, float 2.25 V in a deep-cycle gel battery maker's guide; −5 mV per cell and kelvin there.
    absorb_v=Range(2.38, 2.33, 2.42),
    float_v=Range(2.25, 2.20, 2.30),
    tail_c=Range(0.02, 0.01, 0.03),
    accept_c=Range(0.15, 0.10, 0.30),
    ohm_c=Range(0.16, 0.04, 0.35),
    taper_soc=Range(75.0, 65.0, 85.0),
    taper_c_per_soc=0.008,
    coulombic=_LEAD_COULOMBIC,
    energy=_LEAD_ENERGY,
    mv_per_c=-5.0,
    peukert=1.15,
    rest=_REST_SEALED,
)

CHEMISTRIES: dict[str, Chemistry] = {"lfp": LFP, "nmc": NMC, "flooded": FLOODED, "agm": AGM, "gel": GEL}
"""By the name that the site sheet uses."""

_BANKS_V = (12.0, 24.0, 36.0, 48.0)


def chemistry_of(battery: Battery) -> Chemistry | None:
    """The usual values of the sheet's chemistry; None where it gives none."""
    return CHEMISTRIES.get(battery.chemistry or "")


def cells_of(battery: Battery, usual_v: float = math.nan) -> int:
    """Cells in series; 0 where nothing tells.

    By the sheet's nominal voltage, else by its absorption voltage, else by the voltage at which the battery
    usually is, `usual_v`. A "48 V" battery of iron phosphate has 16 cells as a rule (51.2 V); by its name it
    would have 15.
    """
    kind = chemistry_of(battery)
    if kind is None:
        return 0
    if battery.nominal_v is not None:
        return _cells_by_name(battery.chemistry or "", kind, battery.nominal_v)
    volts = battery.absorb_v / kind.absorb_v.value * kind.cell_v if battery.absorb_v is not None else usual_v
    if not volts > 0:
        return 0
    usual = usual_cells(battery.chemistry or "")
    nearest = min(usual, key=lambda cells: abs(math.log(volts / (cells * kind.cell_v))))
    # A tenth off and more is some other bank.
    return nearest if abs(volts / (nearest * kind.cell_v) - 1) < 0.1 else 0


def _cells_by_name(name: str, kind: Chemistry, nominal_v: float) -> int:
    if name == "lfp" and nominal_v % 12 == 0:
        return round(nominal_v / 3)
    return max(1, round(nominal_v / kind.cell_v))


def usual_cells(name: str) -> list[int]:
    """How many cells in series banks of a chemistry have as a rule."""
    if name == "nmc":
        return [3, 4, 7, 13, 14, 16]
    return [_cells_by_name(name, CHEMISTRIES[name], volts) for volts in _BANKS_V]


def absorb_v(battery: Battery, usual_v: float = math.nan) -> float:
    """Absorption voltage of the bank at 25 °C, V: the sheet's, else assumed by chemistry; NaN if neither."""
    if battery.absorb_v is not None:
        return battery.absorb_v
    kind, cells = chemistry_of(battery), cells_of(battery, usual_v)
    return cells * kind.absorb_v.value if kind is not None and cells else math.nan


def float_v(battery: Battery, usual_v: float = math.nan) -> float:
    """Float voltage of the bank at 25 °C, V: the sheet's, else assumed by chemistry; NaN if neither."""
    if battery.float_v is not None:
        return battery.float_v
    kind, cells = chemistry_of(battery), cells_of(battery, usual_v)
    return cells * kind.float_v.value if kind is not None and cells else math.nan


def peukert_hours(rated_ah: float, rated_h: float, exponent: float, amperes: float) -> float:
    """Hours that a battery of `rated_ah` at its `rated_h`-hour rate lasts at a current: t = H (C / (I H))^k."""
    return rated_h * float((rated_ah / (amperes * rated_h)) ** exponent)
