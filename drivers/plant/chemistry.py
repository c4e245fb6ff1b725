"""What batteries of a chemistry have in common, per cell: rest voltage, resistance, charge efficiency, settings.

Typical curves of the trade, rounded; no maker's cell.
"""

from __future__ import annotations

from dataclasses import dataclass

from drivers.plant.curve import Curve

_LFP_SOC = (0, 2, 5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 98, 99, 100)
_LFP_V = (
    2.80,
    3.00,
    3.13,
    3.20,
    3.25,
    3.28,
    3.295,
    3.305,
    3.315,
    3.33,
    3.336,
    3.345,
    3.358,
    3.39,
    3.43,
    3.65,
)
_NMC_SOC = (0, 5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100)
_NMC_V = (3.00, 3.35, 3.45, 3.56, 3.62, 3.67, 3.73, 3.82, 3.91, 4.00, 4.08, 4.20)
_LFP_REST = Curve(list(zip(_LFP_SOC, _LFP_V, strict=True)))
_NMC_REST = Curve(list(zip(_NMC_SOC, _NMC_V, strict=True)))
_FLOODED_REST = Curve([(0, 1.958), (25, 2.010), (50, 2.040), (75, 2.074), (100, 2.110)])
_SEALED_REST = Curve([(0, 1.965), (25, 2.020), (50, 2.055), (75, 2.095), (100, 2.140)])

_LITHIUM_GROWTH = Curve([(0, 1.0), (100, 1.0)])
# Charging a full lead-acid cell meets ever more resistance: nothing is left to convert, and gas forms.
_LEAD_GROWTH = Curve(
    [(0, 5), (30, 6.5), (50, 8), (65, 9.5), (75, 11.5), (82, 15), (88, 23), (93, 40), (97, 70), (100, 120)]
)
_LITHIUM_EFFICIENCY = Curve([(0, 0.995), (100, 0.995)])
_LEAD_EFFICIENCY = Curve([(0, 0.99), (70, 0.97), (80, 0.90), (90, 0.75), (95, 0.60), (100, 0.20)])


@dataclass(frozen=True, slots=True)
class Chemistry:
    """Per cell, at 25 °C.

    rest         rest voltage over state of charge (%), V
    ohm_c, slow_c  voltage that one C (capacity in one hour) loses in the quick and the slow resistance, V
    slow_s       time constant of the slow one
    growth       by what the quick one is multiplied while charging, over state of charge
    efficiency   share of the charge put in that stays
    tail_c       current at which absorption ends, in C
    absorb_h     longest absorption
    mv_per_c     correction of the charge voltages, mV per °C
    taper_soc    from where on the battery's own electronics ask for less and less current; 100 for none
    coldest_c    below it they refuse charge
    """

    cell_v: float
    rest: Curve
    ohm_c: float
    slow_c: float
    slow_s: float
    growth: Curve
    efficiency: Curve
    absorb_v: float
    float_v: float
    max_c: float
    tail_c: float
    absorb_h: float
    mv_per_c: float = 0.0
    taper_soc: float = 100.0
    coldest_c: float = -60.0


def _lead(
    rest: Curve, ohm_c: float, absorb_v: float, float_v: float, max_c: float, mv_per_c: float
) -> Chemistry:
    return Chemistry(
        2.0,
        rest,
        ohm_c,
        0.0,
        60.0,
        _LEAD_GROWTH,
        _LEAD_EFFICIENCY,
        absorb_v,
        float_v,
        max_c,
        0.02,
        4.0,
        mv_per_c,
    )


CHEMISTRIES: dict[str, Chemistry] = {
    "lfp": Chemistry(
        3.2, _LFP_REST, 0.045, 0.025, 240.0, _LITHIUM_GROWTH, _LITHIUM_EFFICIENCY, 3.50, 3.37, 0.5, 0.05, 0.5,
        taper_soc=97.0, coldest_c=0.0,
    ),
    "nmc": Chemistry(
        3.7, _NMC_REST, 0.10, 0.12, 900.0, _LITHIUM_GROWTH, _LITHIUM_EFFICIENCY, 4.20, 4.05, 0.7, 0.02, 2.0,
        coldest_c=0.0,
    ),
    "flooded": _lead(_FLOODED_REST, 0.20, 2.45, 2.22, 0.20, -5.0),
    "agm": _lead(_SEALED_REST, 0.12, 2.40, 2.26, 0.30, -4.0),
    "gel": _lead(_SEALED_REST, 0.16, 2.37, 2.27, 0.20, -5.0),
}  # fmt: skip
"""By the name that the site sheet uses."""
