"""What a recording shows that bears on the limit: how the charger follows it, what the set endured, uneven legs."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from desktop.charging.advice.advice import Shown
from desktop.charging.advice.charger import ASSUMED_HELD, USUAL_BACK_OFF, BackOff, Held
from desktop.charging.advice.endurance import learned_endurance, overloaded
from desktop.charging.advice.giving_way import measured_back_off
from desktop.charging.advice.holding import measured_held, measured_unmetered
from desktop.charging.advice.house import COARSEST_S
from desktop.charging.advice.legs import Uneven, busiest_a, extra_w, leg_currents, unevenness
from desktop.charging.advice.sudden_ends import sudden_ends
from desktop.charging.advice.taking import NOTHING_SEEN, Taking, measured_taking
from desktop.charging.derating import rated_w
from desktop.flow.learned import Learned
from desktop.site import Site
from recordings.recording import Recording

Singles = NDArray[np.float32]
Floats = NDArray[np.float64]

_CHARGING = 0.1
_TAKES = 0.03
_AT_ONCE = 2.5
"""Readings no more than so many intervals apart are taken as one after the other."""

_VOLTS_DOUBT = 0.02
"""Where no voltage is read, currents are worked out from the nominal one."""


def shown_by(
    recording: Recording,
    load: Singles,
    generator: Singles,
    learned: Learned,
    site: Site,
    trips: tuple[int, ...],
    need_wh: float,
) -> Shown:
    """The evidence in a recording.

    load, generator  (n,) reconciled powers, W; NaN where not known
    trips            when the set tripped by overload, UTC nanoseconds
    need_wh          what the battery still takes until its target, Wh; NaN where not known
    """
    carried, legs = rated_w(site), site.generator.legs
    uneven = unevenness(recording, load, generator, legs)
    fine = learned.interval_s <= COARSEST_S and learned.volts > 0 and carried > 0
    if not fine:
        return Shown(recording.time, load, uneven, need_wh)
    limit = _limit_a(recording, site)
    held, back_off = ASSUMED_HELD, USUAL_BACK_OFF
    ends = sudden_ends(
        recording, load, generator, carried, learned.volts, learned.hz, _AT_ONCE * learned.interval_s
    )
    if limit is not None:
        held, uneven = _held(recording, load, generator, limit, learned, site, uneven)
        back_off = _back_off(
            recording, load, generator, limit - np.float32(held.below_a), learned, site, (*trips, *ends)
        )
    share, busiest = _shares(load, generator, carried, uneven)
    rows = np.searchsorted(recording.time, np.array(trips, np.int64)).clip(0, max(0, len(share) - 1))
    explained = np.array([overloaded(busiest, learned.interval_s, row) for row in rows.tolist()], bool)
    known = {round(trip / 1e10) for trip in trips}
    others = [end for end in ends if not {round(end / 1e10) + more for more in (-1, 0, 1)} & known]
    hidden = [trip for trip, told in zip(trips, explained.tolist(), strict=True) if not told]
    running = float(np.count_nonzero(generator > _CHARGING * carried)) * learned.interval_s / 3600
    return Shown(
        time=recording.time,
        load=load,
        uneven=uneven,
        need_wh=need_wh,
        back_off=back_off,
        endurance=learned_endurance(share, learned.interval_s, rows[explained], busiest),
        held=held,
        untold=tuple(sorted([*others, *hidden])),
        running_h=running,
        taking=_taking(recording, load, generator, limit, held, uneven, learned, site),
    )


def _limit_a(recording: Recording, site: Site) -> Singles | None:
    if "input_limit" in recording:
        return recording.column("input_limit")
    if site.input.limit_a is None:
        return None
    return np.full(len(recording), site.input.limit_a, np.float32)


def _taking(
    recording: Recording,
    load: Singles,
    generator: Singles,
    limit: Singles | None,
    held: Held,
    uneven: Uneven,
    learned: Learned,
    site: Site,
) -> Taking:
    if limit is None or "battery_soc" not in recording or site.battery.capacity_kwh is None:
        return NOTHING_SEEN
    watts_per_a = learned.volts * site.generator.legs * site.generator.power_factor
    house = load.astype(np.float64)
    charger = generator - house
    room = (limit - held.below_a) * watts_per_a - uneven.on_busiest(house)
    charging = charger > _TAKES * rated_w(site)
    return measured_taking(
        recording.time,
        recording.column("battery_soc").astype(np.float64),
        np.where(charging, charger, np.nan),
        room,
        float(np.nanmedian(limit)) * watts_per_a,
        1000.0 * site.battery.capacity_kwh,
        learned.gap_s,
        most_gained=1.0 - learned.conversion.slope,
    )


def _back_off(
    recording: Recording,
    load: Singles,
    generator: Singles,
    held_a: Singles,
    learned: Learned,
    site: Site,
    trips: tuple[int, ...],
) -> BackOff:
    legs = site.generator.legs
    allowed = held_a * np.float32(learned.volts * legs * site.generator.power_factor)
    if legs > 1:
        metered = leg_currents(recording, legs)
        if metered is None:
            return USUAL_BACK_OFF
        extra = np.nan_to_num(extra_w(metered, generator)).astype(np.float32)
        load, generator = load + extra, generator + extra
    return measured_back_off(recording.time, load, generator, allowed, learned.interval_s, trips)


def _held(
    recording: Recording,
    load: Singles,
    generator: Singles,
    limit: Singles,
    learned: Learned,
    site: Site,
    uneven: Uneven,
) -> tuple[Held, Uneven]:
    set_ = site.generator
    watts_per_a = learned.volts * set_.power_factor * set_.legs
    charging = generator - load > _CHARGING * limit * watts_per_a
    busiest = busiest_a(recording, generator, set_.legs, learned.volts, set_.power_factor)
    load_a, limit_a = load.astype(np.float64) / watts_per_a, limit.astype(np.float64)
    full_load_a, doubt = rated_w(site) / watts_per_a, _current_doubt(recording, site)
    if busiest is not None:
        current = np.where(charging, busiest, np.nan)
        return measured_held(current, load_a, limit_a, full_load_a, doubt), uneven
    mean = np.where(charging, generator / watts_per_a, np.nan)
    return measured_unmetered(mean, load_a, limit_a, full_load_a, doubt, watts_per_a, set_.legs)


def _current_doubt(recording: Recording, site: Site) -> float:
    """Standard deviation of what is known of the generator's current, as a share of it."""
    for name in ("generator_current", "generator_current_l1"):
        if name in recording:
            return site.meter(name).percent / 100
    power = site.meter("generator_power").percent / 100
    return power if "generator_voltage" in recording else math.hypot(power, _VOLTS_DOUBT)


def _shares(load: Singles, generator: Singles, carried: float, uneven: Uneven) -> tuple[Floats, Floats]:
    """(n,) load of the set over its rating, all legs together and its busiest leg; NaN where not known."""
    extra = uneven.on_busiest(load.astype(np.float64)) - load
    share = generator.astype(np.float64) / carried
    return share, share + np.nan_to_num(extra) / carried
