"""Input above its limit for so short a time that it makes no finding: told, for the highest makes one wonder."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from desktop.charging.advice.legs import busiest_a
from desktop.charging.sessions import Session
from desktop.diagnosis.plant import Plant
from desktop.words import Phrase

if TYPE_CHECKING:
    from desktop.review.reviewing import Review

Floats = NDArray[np.float64]

_TELL = frozenset({"input_over_limit", "generator_over_rating", "generator_stopped_under_load"})
_BEFORE_S = 30.0
_LEAST_STEP = 0.05
_NEAR_S = 5.0


def brief_over(review: Review, session: Session) -> Phrase | None:
    """How often, how far and why the input was above its limit in a session without a finding that says so.

    None where it was not, where a finding tells of the highest, or where limit or current aren't known.
    """
    first, stop = np.searchsorted(review.recording.time, (session.start, session.end + 1)).tolist()
    plant = Plant.of(review.learned, review.site)
    amperes, limit = _amperes(review, plant, first, stop), _limit(review, first, stop)
    over = amperes > limit * (1 + plant.meter_margin("generator_current"))
    if not over.any():
        return None
    row = int(np.argmax(np.where(over, amperes, -np.inf)))
    at = int(review.recording.time[first + row])
    near = round(_NEAR_S * 1e9)
    if any(
        one.kind in _TELL and any(map(one.stands_at, (at - near, at, at + near))) for one in review.findings
    ):
        return None
    edges = np.flatnonzero(np.diff(np.concatenate(([0], over.astype(np.int8), [0]))))
    lengths = edges[1::2] - edges[::2]
    return _told(
        review,
        {"at": at, "peak": float(amperes[row]), "limit": float(limit[row]), "count": len(lengths)},
        int(lengths.max()) * review.interval_s,
        _more(review, plant, first + row, float(amperes[row])),
    )


def _told(review: Review, values: dict[str, float], lasted_s: float, more: Phrase) -> Phrase:
    if values["count"] == 1:
        return Phrase(
            "At {at:clock} the input was above its limit for {lasted:time}: {peak:A} instead of {limit:A}{more} "
            "That is too short for a finding: the charger needs a moment to give way.",
            review.site.zone,
            lasted=lasted_s,
            more=more,
            **values,
        )
    return Phrase(
        "The input was above its limit of {limit:A} {count:d} times, for {lasted:time} at most. The highest was "
        "{peak:A}, at {at:clock}{more} Each was too short for a finding: the charger needs a moment to give way.",
        review.site.zone,
        lasted=lasted_s,
        more=more,
        **values,
    )


def _more(review: Review, plant: Plant, row: int, peak_a: float) -> Phrase:
    """Whether it was more than the generator can carry, and what the house did."""
    full_a = plant.leg_a * plant.rated_w / plant.plate_w
    rated = Phrase("")
    if peak_a > full_a:
        rated = Phrase(", more than the {full:A} that the generator can carry for long", full=full_a)
    rows = max(2, math.ceil(_BEFORE_S / review.interval_s))
    load = review.stream("load").astype(np.float64)
    before, there = load[max(0, row - rows) : max(0, row - 1)], load[max(0, row - 1) : row + 2]
    if not (np.isfinite(before).any() and np.isfinite(there).any()):
        return Phrase("{rated}.", rated=rated)
    usual, most = float(np.nanmedian(before)), float(np.nanmax(there))
    if not most - usual > _LEAST_STEP * np.nan_to_num(plant.rated_w):
        return Phrase("{rated}.", rated=rated)
    return Phrase(
        "{rated}. The house went from {usual:W} to {most:W} just then.", rated=rated, usual=usual, most=most
    )


def _amperes(review: Review, plant: Plant, first: int, stop: int) -> Floats:
    """(n,) current of the busiest leg, A; NaN where not known."""
    generator = review.stream("generator")[first:stop]
    found = busiest_a(
        review.recording.rows(first, stop), generator, plant.legs, plant.volts, plant.power_factor
    )
    return np.full(stop - first, np.nan) if found is None else found


def _limit(review: Review, first: int, stop: int) -> Floats:
    """(n,) the limit that was set, A: as last reported, else by the sheet; NaN where not known."""
    by_sheet = review.site.input.limit_a
    limit = np.full(stop - first, math.nan if by_sheet is None else by_sheet)
    if "input_limit" not in review.recording:
        return limit
    reported = review.recording.column("input_limit")[:stop].astype(np.float64)
    rows = np.maximum.accumulate(np.where(np.isfinite(reported), np.arange(stop), -1))[first:]
    return np.where(rows >= 0, reported[rows], limit)
