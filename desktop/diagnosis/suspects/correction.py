"""Try a correction: a recording as it would be if the suspect read right, and what to write into the site sheet."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects.suspect import Suspect, usual_factor
from desktop.site import ColumnRule, Site
from recordings.provenance import Provenance
from recordings.recording import Recording

Values = NDArray[np.float32]
Floats = NDArray[np.float64]

_DIGITS = 4


def correctable(suspect: Suspect) -> bool:
    """True where readings can be put right; what has no meter can't be read into them."""
    return bool(suspect.channels)


def corrected(recording: Recording, suspect: Suspect) -> Recording:
    """A recording with the suspect's channels corrected, told in its provenance; other columns are shared.

    Readings of a meter that stood still become missing ones. Where nothing can be corrected it is the same.
    """
    if not correctable(suspect):
        return recording
    columns = {name: recording.column(name) for name in recording.channels}
    if suspect.fault == "swapped":
        one, other = suspect.channels
        columns[one], columns[other] = columns[other], columns[one]
    else:
        channel = suspect.channel
        columns[channel] = _column(recording.time, columns[channel], suspect)
    return Recording.from_columns(recording.time, columns, _provenance(recording.provenance, suspect))


def factor_of(suspect: Suspect) -> float:
    """By what its readings are multiplied: −1 for a wrong sign, the usual factor where the fitted one means it."""
    if suspect.fault == "reversed":
        return -1.0
    if suspect.fault in ("scale", "one_leg"):
        return usual_factor(suspect.parameter) or suspect.parameter
    return 1.0


def column_rules(recording: Recording, site: Site, suspect: Suspect) -> dict[str, ColumnRule] | None:
    """Channel → the rule of the sheet's [columns] that reads it right; None where no rule can say it.

    Rules that the sheet has already are carried on. A recording that came from no table has no columns.
    """
    rules = {name: _rule(recording, site, name) for name in suspect.channels}
    known = {name: rule for name, rule in rules.items() if rule is not None}
    if not known or len(known) < len(rules):
        return None
    if suspect.fault == "swapped":
        one, other = suspect.channels
        return {one: known[other], other: known[one]}
    rule = known[suspect.channel]
    match suspect.fault:
        case "reversed":
            offset = None if rule.offset is None else -rule.offset
            turned = rule.model_copy(update={"sign": 1 if rule.sign == -1 else -1, "offset": offset})
        case "scale" | "one_leg":
            factor = factor_of(suspect)
            scale = _rounded((rule.scale or 1.0) / factor)
            offset = None if rule.offset is None else _rounded(rule.offset / factor)
            turned = rule.model_copy(update={"scale": scale, "offset": offset})
        case "offset":
            turned = rule.model_copy(update={"offset": _rounded((rule.offset or 0.0) - suspect.parameter)})
        case _:
            return None
    return {suspect.channel: turned}


def _rule(recording: Recording, site: Site, channel: str) -> ColumnRule | None:
    if channel in site.columns:
        return site.columns[channel]
    read = recording.provenance.columns.get(channel)
    if read is None or "+" in read.column:
        return None
    return ColumnRule(column=read.column, unit=read.unit or None, sign=-1 if read.sign < 0 else None)


def _rounded(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}")


def _column(time: NDArray[np.int64], values: Values, suspect: Suspect) -> Values:
    if suspect.fault == "offset":
        return (values - np.float64(suspect.parameter)).astype(np.float32)
    if suspect.fault == "lag":
        later = np.searchsorted(time, time + round(suspect.parameter * 1e9))
        known = later < len(time)
        moved = np.full(len(time), np.nan, np.float32)
        moved[known] = values[later[known]]
        return moved
    if suspect.fault == "stuck":
        stood = (time >= suspect.start) & (time < suspect.end) & (values == np.float32(suspect.parameter))
        return np.where(stood, np.float32(np.nan), values).astype(np.float32)
    return (values / np.float64(factor_of(suspect))).astype(np.float32)


def _provenance(told: Provenance, suspect: Suspect) -> Provenance:
    columns = dict(told.columns)
    for name in suspect.channels:
        if name in columns:
            read = columns[name]
            sign = -read.sign if suspect.fault == "reversed" else read.sign
            columns[name] = replace(read, sign=sign, how=f"{read.how}; corrected: {suspect.text}")
    note = f"a correction was tried: {suspect.text}"
    repairs = replace(told.repairs, notes=[*told.repairs.notes, note])
    return replace(told, columns=columns, ignored=list(told.ignored), repairs=repairs)
