"""The generator's channel: one bed, or one per leg where the legs carry unequally, each with its gate."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from desktop.picture.diagram.channels import Stretch, draw_bed, draw_gate, draw_water
from desktop.picture.diagram.course import EAST, Course, Straight
from desktop.picture.diagram.flows import Flow
from desktop.picture.diagram.frame import Lane
from desktop.picture.diagram.labels import alarmed, over
from desktop.picture.diagram.lettering import put_line
from desktop.picture.diagram.shapes import Box, Drawing, Mark, Measure, Text
from desktop.review.moment import Moment
from desktop.words import Phrase

_BETWEEN_LEGS = 0.8
"""Between the beds of two legs, as a share of a line's height."""

TALLEST_GATE = 1.6
"""A limit of more than this times the rating has no gate in the picture."""


@dataclass(frozen=True, slots=True)
class Leg:
    """What is drawn as one bed. `limit` is what its gate lets through, W; None: no gate."""

    name: str
    watts: float
    capacity: float
    limit: float | None
    over: bool


def gate_w(moment: Moment, capacity: float) -> float | None:
    """What the AC input limit lets through, W, where it can be drawn."""
    limit = moment.generator.limit_w
    if limit is None or not 0 < limit <= TALLEST_GATE * capacity:
        return None
    return limit


def legs_of(moment: Moment, flow: Flow) -> tuple[Leg, ...]:
    """The beds of the generator's channel from top to bottom; one where the legs are equal or not known."""
    limit = gate_w(moment, flow.capacity)
    generator = moment.generator
    currents = generator.leg_currents
    count = len(currents)
    shares = [abs(current) * _volts(moment, leg) for leg, current in enumerate(currents)]
    if count < 2 or not generator.legs_unequal or not flow.known or not 0 < sum(shares) < math.inf:
        return (Leg("", flow.watts, flow.capacity, limit, _above(moment, flow, limit)),)
    return tuple(
        Leg(
            f"L{leg}",
            flow.watts * share / sum(shares),
            flow.capacity / count,
            None if limit is None else limit / count,
            over(moment, f"input_current_l{leg}"),
        )
        for leg, share in enumerate(shares, start=1)
    )


def _volts(moment: Moment, leg: int) -> float:
    volts = moment.generator.leg_voltages
    return volts[leg] if leg < len(volts) and volts[leg] > 0 else 1.0


def _above(moment: Moment, flow: Flow, limit: float | None) -> bool:
    held = [one for one in moment.limits if one.key.startswith("input_current") and one.state != "not known"]
    if held:
        return any(one.state == "over" for one in held)
    return limit is not None and flow.watts > 1.02 * limit


def tallest(legs: tuple[Leg, ...]) -> float:
    """W for which each of the beds needs room."""
    return max(max(leg.watts, leg.capacity, leg.limit or 0.0) for leg in legs)


def between(legs: tuple[Leg, ...], room: float, em: float) -> float:
    """Pixels between the beds of two legs, if there is this much room above the floor."""
    return min(_BETWEEN_LEGS * em, 0.3 * room / (len(legs) - 1)) if len(legs) > 1 else 0.0


def draw_generator(
    drawing: Drawing, moment: Moment, flow: Flow, lane: Lane, scale: float, em: float, measure: Measure
) -> bool:
    """Beds, water, gates, and what the gate is set to: True where that found room."""
    legs = legs_of(moment, flow)
    start, floor = lane.course.start
    length = sum(piece.length for piece in lane.course.pieces if isinstance(piece, Straight))
    apart = between(legs, lane.room, em)
    pitch = tallest(legs) * scale + apart
    indent = 1.9 * em if len(legs) > 1 and length > 8 * em else 0.0
    post = start
    for number, leg in enumerate(legs):
        level = floor - (len(legs) - 1 - number) * pitch
        course = Course((start + indent, level), EAST, (Straight(length - indent),))
        own = replace(flow, watts=leg.watts, capacity=leg.capacity, bands=_scaled(flow, leg.watts))
        stretch = Stretch(own, course, over=_overflows(moment, leg))
        draw_bed(drawing, stretch, scale)
        draw_water(drawing, stretch, scale)
        if leg.limit is not None:
            role = "act now" if leg.over else "bar"
            above = 0.55 * em if number == 0 else 0.5 * apart
            room = lane.room - (floor - level)
            top = min(tallest((leg,)) * scale + above, max(room, leg.limit * scale))
            post = draw_gate(drawing, course, leg.limit * scale, top, em, role)
        if indent and leg.name:
            tag = Box(start, level - leg.capacity * scale, start + indent - 0.2 * em, level)
            put_line(drawing, Text(leg.name, tag, "muted", 0.85, of="generator"), tag, measure)
    rim = floor - (len(legs) - 1) * pitch - max(tallest(legs), 0.0) * scale
    return _tell_limit(
        drawing,
        moment,
        Box(start, floor - lane.room, post - 0.6 * em, rim - 2),
        any(leg.over for leg in legs),
        em,
        measure,
    )


def _scaled(flow: Flow, watts: float) -> tuple[tuple[str, float], ...]:
    if not flow.watts > 0 or not watts > 0:
        return ()
    return tuple((source, part * watts / flow.watts) for source, part in flow.bands)


def _overflows(moment: Moment, leg: Leg) -> float | None:
    """W above which the water of a bed runs over a limit that is exceeded."""
    if leg.over and leg.limit is not None:
        return leg.limit
    return leg.capacity if alarmed(moment, "generator") and leg.watts > leg.capacity else None


def _tell_limit(
    drawing: Drawing, moment: Moment, room: Box, above: bool, em: float, measure: Measure
) -> bool:
    """What the gate is set to, above the channel at the gate's left."""
    generator = moment.generator
    limit = generator.limit_a
    if limit is None or gate_w(moment, moment.streams["generator"].rated or math.inf) is None:
        return False
    known = above and math.isfinite(generator.current)
    phrases = [
        *(
            [Phrase("{current:A} on a {limit:A} limit", current=generator.current, limit=limit)]
            if known
            else []
        ),
        Phrase("limit {limit:A}", limit=limit),
    ]
    role = "act now" if above else "muted"
    low = Box(
        room.left, max(room.top, room.bottom - measure("0", 0.85, False)[1] - 1), room.right, room.bottom
    )
    for phrase in phrases:
        line = Text(str(phrase), low, role, 0.85, above, "right", of="generator")
        put = put_line(drawing, line, low, measure)
        if put is not None:
            size = 0.8 * em
            if above and put.box.left - 1.5 * size > room.left:
                drawing.marks.append(Mark("act now", (put.box.left - 0.9 * size, put.box.centre[1]), size))
            return True
    return False
