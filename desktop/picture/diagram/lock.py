"""The converter as a lock between the buses, and what it loses."""

from __future__ import annotations

import math
from collections.abc import Mapping

from desktop.picture.diagram.course import EAST, Course, Straight
from desktop.picture.diagram.flows import Flow
from desktop.picture.diagram.frame import Lane
from desktop.picture.diagram.lettering import put_line, shortened, stacked
from desktop.picture.diagram.shapes import Area, Box, Drawing, Line, Measure, Text
from desktop.words import Phrase, template, tr

_DRIPS = ((0.55, 0.16), (0.72, 0.1), (0.85, 0.06), (0.95, 0.03))
"""Where along its course the trickle breaks up, and how long each piece still is, as shares of its length."""


def draw_lock(drawing: Drawing, flows: Mapping[str, Flow], lock: Box, em: float, measure: Measure) -> None:
    """The lock's chamber with what it is doing, and its gates."""
    drawing.areas.append(Area("lock", lock.path(), "panel", "converter"))
    text = tr(_doing(flows))
    for size in (0.9, 0.75, 0.6):
        line = Text(text, lock, "text", size, align="centre", ground="panel", of="converter")
        if measure(text, size, False)[0] < lock.width - 0.4 * em and put_line(drawing, line, lock, measure):
            return


def _doing(flows: Mapping[str, Flow]) -> str:
    sides = [flows[name] for name in ("converter_ac", "converter_dc") if name in flows]
    moving = [flow for flow in sides if flow.known and not flow.still]
    if not moving:
        return template("converter")
    forward = max(moving, key=lambda flow: flow.watts).forward
    return template("charger") if forward else template("inverter")


def draw_losses(
    drawing: Drawing,
    flows: Mapping[str, Flow],
    lane: Lane,
    room: Box,
    scale: float,
    size: float,
    measure: Measure,
) -> None:
    """The trickle out of the lock's side, which breaks up and is gone; what it is, in letters of a size."""
    flow = flows["loss"]
    x, y = lane.course.start
    length = sum(piece.length for piece in lane.course.pieces if isinstance(piece, Straight))
    floor = y + flow.watts * scale / 2
    top = flow.watts
    for source, watts in flow.bands:
        low = max(top - watts, 0.0)
        for start, share in ((0.0, 0.5), *_DRIPS):
            piece = Course((x + start * length, floor), EAST, (Straight(share * length),))
            drawing.areas.append(
                Area(
                    "water",
                    piece.ribbon(low * scale, top * scale),
                    source,
                    "loss",
                    source,
                    watts,
                    watts * scale,
                )
            )
        top = low
    if not flow.known:
        path = (("M", x, y), ("L", x + length, y))
        drawing.lines.append(Line("drip", path, "unknown", 1.0, (1.5, 3.5), "loss"))
    name = shortened(tr("Losses"), room.width, size, True, measure)
    values = [text for text in _values(flows) if measure(text, size, False)[0] <= room.width]
    lines = [Text(name, room, "muted", size, True, of="loss")] if name else []
    lines += [Text(text, room, "muted", size, of="loss") for text in values[:1]]
    high = sum(measure(line.text, size, line.bold)[1] for line in lines)
    if len(lines) == 2 and 1.09 * high < room.height:
        stacked(drawing, lines, room, y, measure)


def _values(flows: Mapping[str, Flow]) -> list[str]:
    """What is lost, in the order of preference."""
    loss = flows["loss"]
    if not loss.known:
        return [str(Phrase("{value:W}", value=math.nan))]
    short = str(Phrase("{value:W}", value=loss.watts))
    ac, dc = flows.get("converter_ac"), flows.get("converter_dc")
    if ac is None or dc is None or not (ac.known and dc.known) or ac.still or dc.still:
        return [short]
    entering, leaving = (ac, dc) if ac.forward else (dc, ac)
    if ac.forward != dc.forward or leaving.watts > entering.watts:
        return [short]
    share = 100 * leaving.watts / entering.watts
    return [str(Phrase("{value:W} · {share:%} efficient", value=loss.watts, share=share)), short]
