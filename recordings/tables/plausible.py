"""What readings themselves say against the header's words: codes, missing marks, shares, impossible values."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from recordings.channels import CHANNELS, POWERS
from recordings.errors import UnclearColumnsError
from recordings.provenance import Repairs
from recordings.tables.choice import Plan, derivable, quoted
from recordings.tables.units import Unit

Values = NDArray[np.float32]

_CODES = (32767.0, -32768.0, 65535.0, 2147483647.0, -2147483648.0, 4294967295.0)
"""The largest and smallest whole numbers of 16 and 32 bits: what devices send where they have no reading."""

_CODE_SCALES = (1.0, 0.1, 0.01)
_LONELY = 0.5
_KILOWATT_LIKE = 30.0
_STATE_LIKE = 9.0
_SHARE_LIKE = 110.0
_MAINS_LIKE = ((44.0, 66.0), (100.0, 130.0), (200.0, 260.0))
"""Where mains frequencies and voltages lie, Hz and V (common practice, no source)."""

_ENOUGH = 20
_MARGIN = 0.05
_FEW, _BAD_SHARE = 3, 0.05
_SUN_W, _SUN_ROWS = 50.0, 30
_INVERTER_SHARE = (0.85, 1.02)
_STEADY = 0.06


def without_codes(name: str, unit: Unit, values: Values, repairs: Repairs) -> None:
    """Make the codes that devices send for "no reading" missing, in place: where nothing comes near them.

    values  a column's readings, already in the channel's unit
    """
    codes = [np.float32(code * scale * unit.scale + unit.offset) for code in _CODES for scale in _CODE_SCALES]
    for _ in _CODES:
        ends = np.fmax.reduce(values, initial=-np.inf), np.fmin.reduce(values, initial=np.inf)
        largest = np.float32(max(abs(end) for end in ends))
        present = [code for code in codes if abs(code) == largest and code in ends]
        if not present:
            return
        marked = np.isin(values, present)
        if np.fmax.reduce(np.abs(values[~marked]), initial=np.float32(0)) > _LONELY * largest:
            return
        values[marked] = np.nan
        repairs.notes.append(
            f'column "{name}": {int(marked.sum())} cells hold a number that devices send where they have no '
            "reading; taken as missing"
        )


def sifted(
    path: str, plans: Mapping[str, Plan], channels: dict[str, Values], repairs: Repairs
) -> dict[str, Values]:
    """The channels that can be what their headers say. UnclearColumnsError where only a person can tell."""
    kept = {}
    doubts = {
        channel: doubt for channel, values in channels.items() if (doubt := _doubt(plans[channel], values))
    }
    _refuse_nothing_but(path, plans, doubts)
    for channel, values in channels.items():
        plan = plans[channel]
        if plan.own:
            kept[channel] = values
            continue
        if channel in doubts:
            repairs.notes.append(
                f'column "{_name(plan)}" was left out: it gives no unit and {doubts[channel]}'
            )
            continue
        possible = _possible(path, plan, _as_percent(plan, values, repairs), repairs)
        if possible is not None:
            kept[channel] = _known_directions(plan, possible, repairs)
    _refuse_kilowatts(path, plans, kept)
    _refuse_one_sun_twice(path, plans, kept)
    return kept


def _name(plan: Plan) -> str:
    return plan.terms[0].heading.text


def _doubt(plan: Plan, values: Values) -> str:
    """Why a column that names neither a unit nor what it measures may be no power; "" where it may."""
    heading = plan.terms[0].heading
    if not plan.unit_assumed or heading.has("power"):
        return ""
    lowest, highest = np.fmin.reduce(values, initial=np.inf), np.fmax.reduce(values, initial=-np.inf)
    if not 0 <= lowest <= highest or highest == 0:
        return ""
    if highest <= _STATE_LIKE and not np.any(values[~np.isnan(values)] % 1):
        return f"holds whole numbers up to {highest:g} only, as states do"
    if highest <= _SHARE_LIKE and (plan.channel == "battery_power" or heading.all_of("generator", "load")):
        return f"holds nothing above {highest:g}: it may be a percentage or a voltage"
    running = values[values > 0]
    if len(running) >= _ENOUGH and any(
        low <= running.min() <= running.max() <= high for low, high in _MAINS_LIKE
    ):
        return f"lies between {running.min():g} and {highest:g} wherever it isn't 0, as voltages and frequencies do"
    return ""


def _refuse_nothing_but(path: str, plans: Mapping[str, Plan], doubts: Mapping[str, str]) -> None:
    """UnclearColumnsError where no power would be left."""
    rest = [channel for channel in plans if channel not in doubts]
    if not doubts or derivable(rest) or any(channel in POWERS for channel in rest):
        return
    channel, doubt = next(iter(doubts.items()))
    name = _name(plans[channel])
    raise UnclearColumnsError(
        f'column "{name}" gives no unit and {doubt}',
        where=path,
        mend=f'say its unit in the site sheet: [columns] {channel} = {{ column = {quoted(name)}, unit = "kW" }}',
    )


def _as_percent(plan: Plan, values: Values, repairs: Repairs) -> Values:
    """Shares of one as percent."""
    if CHANNELS[plan.channel].unit != "%":
        return values
    known = values[~np.isnan(values)]
    if not known.size or known.min() < 0 or known.max() > 1 or not np.any(known % 1):
        return values
    repairs.notes.append(f'column "{_name(plan)}" runs from 0 to 1 and was taken as a share of 100 %')
    return values * np.float32(100)


def _possible(path: str, plan: Plan, values: Values, repairs: Repairs) -> Values | None:
    """The readings without those that no small plant can show; None where there are too many of them."""
    channel = CHANNELS[plan.channel]
    margin = _MARGIN * (channel.highest - channel.lowest)
    wrong = (values < channel.lowest - margin) | (values > channel.highest + margin)
    count = int(np.count_nonzero(wrong))
    if not count:
        return values
    worst = float(values[wrong][np.argmax(np.abs(values[wrong]))])
    told = f'column "{_name(plan)}" holds {count} readings that can\'t be, such as {worst:.6g} {channel.unit}'
    if count > max(_FEW, _BAD_SHARE * np.count_nonzero(~np.isnan(values))):
        if plan.channel in POWERS:
            raise UnclearColumnsError(
                told.rstrip(),
                where=path,
                mend=f"say its unit in the site sheet: [columns] {plan.channel} = "
                f'{{ column = {quoted(_name(plan))}, unit = "{"mW" if plan.terms[0].unit.scale == 1 else "W"}" }}',
            )
        repairs.notes.append(f"{told.rstrip()}; it was left out: check its unit")
        return None
    repairs.bad_cells += count
    repairs.notes.append(f"{told.rstrip()}; taken as missing")
    return np.where(wrong, np.float32(np.nan), values)


def _known_directions(plan: Plan, values: Values, repairs: Repairs) -> Values:
    """Of a two-way stream with one direction recorded, 0 may hide the other one."""
    signed = values * plan.sign
    if not plan.one_way or np.any(signed < 0):
        return values
    if plan.channel == "grid_power":
        other = "export" if plan.sign > 0 else "import"
        repairs.notes.append(f'grid power: "{_name(plan)}" is one direction only; {other} is taken as none')
        return values
    repairs.notes.append(
        f'{plan.channel.replace("_", " ")}: "{_name(plan)}" is one direction only; where it is 0 the other one is '
        "not known"
    )
    return np.where(values == 0, np.float32(np.nan), values)


def _refuse_kilowatts(path: str, plans: Mapping[str, Plan], channels: Mapping[str, Values]) -> None:
    """Powers without a unit that are never above 30 are as likely kW as W."""
    unsure = [plans[channel] for channel in channels if plans[channel].unit_assumed]
    if not unsure:
        return
    largest = max(float(np.fmax.reduce(np.abs(channels[plan.channel]), initial=0)) for plan in unsure)
    if not 0 < largest <= _KILOWATT_LIKE:
        return
    name = _name(unsure[0])
    raise UnclearColumnsError(
        f'column "{name}" gives no unit: with nothing above {largest:g} it may be W or kW',
        where=path,
        mend=f"say which in the site sheet: [columns] {unsure[0].channel} = "
        f'{{ column = {quoted(name)}, unit = "kW" }}',
    )


def _refuse_one_sun_twice(path: str, plans: Mapping[str, Plan], channels: Mapping[str, Values]) -> None:
    """Solar before and after one inverter is one sun; two arrays don't keep one ratio, nor lose as little."""
    names = ("solar_power", "solar_ac_power")
    if any(name not in channels or plans[name].told for name in names):
        return
    dc, ac = (channels[name] for name in names)
    sunny = (dc > _SUN_W) & (ac > _SUN_W)
    if np.count_nonzero(sunny) < _SUN_ROWS:
        return
    low, middle, high = np.percentile(ac[sunny] / dc[sunny], (5, 50, 95))
    least, most = _INVERTER_SHARE
    if not least <= middle <= most or high - low > _STEADY:
        return
    texts = [quoted(_name(plans[name])) for name in names]
    raise UnclearColumnsError(
        f"columns {' and '.join(texts)} rise and fall together, as one array before and after its inverter",
        where=path,
        mend=f'leave one out in the site sheet: [columns] solar_power = {{ column = "" }}; or name both there: '
        f"[columns] solar_power = {{ column = {texts[0]} }} and solar_ac_power = {{ column = {texts[1]} }}",
    )


def refuse_unread(path: str, plans: Mapping[str, Plan], channels: Mapping[str, Values]) -> None:
    """UnclearColumnsError where the columns of power hold no reading at all. Our own empty columns may be so."""
    pairs = derivable(channels)
    telling = [name for name in channels if name in POWERS or name in pairs]
    if any(plans[name].own or np.isfinite(channels[name]).any() for name in telling):
        return
    raise UnclearColumnsError(
        "no column of power holds a reading",
        where=path,
        found=", ".join(channels),
        mend="choose another recording, or name other columns in the site sheet's [columns]",
    )
