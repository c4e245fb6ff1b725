"""What was achieved, and who carried the house, in sentences."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import tzinfo
from typing import TYPE_CHECKING

from desktop.charging.carriers import Carrier, Stretch, carriers, grid_away
from desktop.words import Phrase, clock, day, template, tr

if TYPE_CHECKING:
    from desktop.review.reviewing import Review

_MOST = 12
_LEAST_RISE = 1.0

_BY: dict[Carrier, str] = {
    "generator": template("{start} to {end}: the generator"),
    "grid": template("{start} to {end}: the grid"),
    "generator and grid": template("{start} to {end}: generator and grid"),
    "battery and sun": template("{start} to {end}: battery and sun"),
    "not known": template("{start} to {end}: not known"),
}


def achieved(review: Review) -> Iterator[Phrase]:
    """What the generator's runs brought, and how long the grid was away."""
    yield from _charged(review)
    zone = review.site.zone
    for away in list(grid_away(_stretches(review)))[:_MOST]:
        yield Phrase(
            "The grid gave nothing from {start} to {end}.",
            start=_clock(away.start, zone),
            end=_clock(away.end, zone),
        )


def _charged(review: Review) -> Iterator[Phrase]:
    every = review.sessions
    if not every:
        return
    gave = sum(one.generator_wh for one in every)
    hours = sum(one.end - one.start for one in every) / 1e9
    if len(every) > 1:
        yield Phrase(
            "The generator ran {count:d} times, {hours:time} in all, and gave {gave:Wh}.",
            count=len(every),
            hours=hours,
            gave=gave,
        )
        return
    start, end = every[0].soc_start, every[0].soc_end
    if math.isnan(start) or math.isnan(end) or end - start < _LEAST_RISE:
        yield Phrase(
            "The generator carried load for {hours:time} and gave {gave:Wh}.", hours=hours, gave=gave
        )
        return
    yield Phrase(
        "In {hours:time} the generator gave {gave:Wh}; the battery went from {start:%} to {end:%}.",
        hours=hours,
        gave=gave,
        start=start,
        end=end,
    )


def carriers_text(review: Review) -> Iterator[str]:
    """Who carried the house and when, where the plant has a grid and it wasn't always the same: a line each."""
    if not review.learned.network.has("grid"):
        return
    stretches, zone = _stretches(review), review.site.zone
    if len(stretches) < 2:
        return
    yield tr("Who carried the house")
    for one in stretches[:_MOST]:
        yield f"  {_told(one, zone)}"
    if len(stretches) > _MOST:
        yield "  " + str(Phrase("And {count:d} more stretches.", count=len(stretches) - _MOST))


def _stretches(review: Review) -> tuple[Stretch, ...]:
    """Minutes that weren't over yet end with the last row."""
    last = int(review.recording.time[-1])
    return tuple(replace(one, end=min(one.end, last)) for one in carriers(review.minutes, review.site))


def _told(one: Stretch, zone: tzinfo) -> str:
    start, end = day(one.start, zone), day(one.end, zone)
    return str(
        Phrase(
            _BY[one.by],
            start=f"{start} {_clock(one.start, zone)}",
            end=_clock(one.end, zone) if start == end else f"{end} {_clock(one.end, zone)}",
        )
    )


def _clock(instant: int, zone: tzinfo) -> str:
    return clock(instant, zone)[:5]
