"""What was achieved, and who carried the house, in sentences."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import tzinfo
from typing import TYPE_CHECKING

import numpy as np

from desktop.charging.carriers import Carrier, Stretch, carriers, grid_away
from desktop.charging.sessions import Session
from desktop.review.foretold import reached
from desktop.words import Phrase, clock, day, template, tr

if TYPE_CHECKING:
    from desktop.review.reviewing import Review

_MOST = 12
_LEAST_RISE = 1.0
_LEAST_SUN_WH = 100.0

WORTH_SHARE = 0.05
"""A source that gave less than this share of a charge isn't named."""

NEAR_TARGET = 2.0
"""In points of the state of charge: as near to its target a charge has come to it."""

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
    yield from grid_phrases(review)


def grid_phrases(review: Review) -> Iterator[Phrase]:
    """When the grid gave nothing, where it was there before or after."""
    if not review.learned.network.has("grid"):
        return
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
        yield from by_the_sun(review)
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
    sun = Phrase("")
    if sun_share(every[0]) >= WORTH_SHARE:
        sun = Phrase("; the sun put in {sun:Wh}", sun=every[0].solar_to_battery_wh)
    yield Phrase(
        "In {hours:time} the generator gave {gave:Wh}; the battery went from {start:%} to {end:%}{sun}.",
        hours=hours,
        gave=gave,
        start=start,
        end=end,
        sun=sun,
    )


def by_the_sun(review: Review) -> Iterator[Phrase]:
    """What the sun gave where the generator carried no load, and how the battery's charge went."""
    sun, energy = review.energy.solar, review.energy
    if review.sessions or not (energy.covers(sun) and sun.wh >= _LEAST_SUN_WH):
        return
    read = np.empty(0, np.float32)
    if "battery_soc" in review.recording:
        read = review.recording.column("battery_soc")[: len(review)]
    known = read[np.isfinite(read)]
    if not known.size:
        yield Phrase("The generator carried no load; the sun gave {sun:Wh}.", sun=sun.wh)
        return
    yield Phrase(
        "The generator carried no load; the sun gave {sun:Wh}, and the battery went from {start:%} to {end:%}.",
        sun=sun.wh,
        start=float(known[0]),
        end=float(known[-1]),
    )


def sun_share(session: Session) -> float:
    """What the sun gave of all that generator and sun put into the battery, 0..1; 0 where not known."""
    sun, generator = session.solar_to_battery_wh, session.to_battery_wh
    return sun / (sun + generator) if sun > 0 and generator >= 0 else 0.0


def charged_phrase(session: Session) -> Phrase:
    """Who charged the battery in a session, how far and how quickly; else for how long load was carried."""
    start, end, span_s = session.soc_start, session.soc_end, (session.end - session.start) / 1e9
    if math.isnan(start) or math.isnan(end):
        return Phrase("The generator carried load for {span:time}.", span=span_s)
    sun = sun_share(session)
    if sun < WORTH_SHARE:
        return Phrase(
            "The generator charged the battery from {start:%} to {end:%} in {span:time}.",
            start=start,
            end=end,
            span=span_s,
        )
    if sun > 1.0 - WORTH_SHARE:
        return Phrase(
            "The sun charged the battery from {start:%} to {end:%} while the generator carried load for "
            "{span:time}.",
            start=start,
            end=end,
            span=span_s,
        )
    return Phrase(
        "Generator and sun charged the battery from {start:%} to {end:%} in {span:time}: the generator put in "
        "{generator:Wh}, the sun {sun:Wh}.",
        start=start,
        end=end,
        span=span_s,
        generator=session.to_battery_wh,
        sun=session.solar_to_battery_wh,
    )


def target_phrase(review: Review, session: Session) -> Phrase | None:
    """How a session that is over ended against the target; None where it ended there, or where that isn't known."""
    target = review.site.battery.target_soc
    off = session.soc_end - target
    if session.stop == "still running" or math.isnan(off) or abs(off) < NEAR_TARGET:
        return None
    if off < 0:
        return Phrase(
            "It ended at {end:%}, {points:.0f} points below the target of {target:%}.",
            end=session.soc_end,
            points=-off,
            target=target,
        )
    came = reached(review, session.start, session.end, target)
    if came is None or came <= session.start:
        return Phrase(
            "It ended at {end:%}, above the target of {target:%}.", end=session.soc_end, target=target
        )
    return Phrase(
        "The target of {target:%} was reached at {time}; it went on for {more:time}, to {end:%}.",
        target=target,
        time=_clock(came, review.site.zone),
        more=(session.end - came) / 1e9,
        end=session.soc_end,
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
