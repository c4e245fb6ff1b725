"""What each stream can carry: by the site sheet, else the largest that was seen."""

from __future__ import annotations

import math
from collections.abc import Mapping

from desktop.charging.derating import rated_w
from desktop.flow.streams import STREAMS
from desktop.site import Site

LEAST_W = 500.0
"""No channel is drawn narrower than this."""

_STEPS = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)


def ratings(site: Site, largest: Mapping[str, float]) -> dict[str, tuple[float, bool]]:
    """Stream → what it can carry, W, and whether that is assumed.

    largest  stream → the largest power that was seen of it, in either direction, W; NaN where none was
    """
    given = {name: value for name, value in _given(site).items() if value is not None and value > 0}
    return {
        name: (given[name], False) if name in given else (round_up(largest.get(name, math.nan)), True)
        for name in STREAMS
    }


def _given(site: Site) -> dict[str, float | None]:
    through = [watts for watts in (site.inverter.rated_w, site.charger.rated_w) if watts is not None]
    converter = max(through) if through else None
    battery, coupling = site.battery, site.solar.coupling
    into = None
    if battery.max_charge_a is not None and battery.nominal_v is not None:
        into = battery.max_charge_a * battery.nominal_v
    return {
        "generator": rated_w(site),
        "solar": site.solar.rated_w if coupling == "dc" else None,
        "solar_ac": site.solar.rated_w if coupling == "ac" else None,
        "load": site.inverter.rated_w,
        "converter_ac": converter,
        "converter_dc": converter,
        "battery": into,
    }


def round_up(watts: float) -> float:
    """The next round number of watts; LEAST_W where nothing is known or it is less."""
    if not watts > LEAST_W:
        return LEAST_W
    decade = 10.0 ** math.floor(math.log10(watts))
    return next(step * decade for step in _STEPS if step * decade >= watts * (1 - 1e-9))
