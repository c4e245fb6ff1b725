"""The flow diagram of one moment: a pure function from what is known of it to plain shapes.

Every stream is a channel as wide as what it can carry, its water as wide as what it does carry, on one scale of
pixels per watt. Places follow from the plant and the page alone. Where more flows than its place has room for,
the scale shrinks for the whole picture, and no place moves.
"""

from __future__ import annotations

from desktop.picture.diagram.channels import Stretch, draw_bed, draw_water
from desktop.picture.diagram.flows import Flow, flows
from desktop.picture.diagram.frame import (
    LEFT_AC,
    LEFT_DC,
    RIGHT_AC,
    RIGHT_DC,
    STYLES,
    Lane,
    Letters,
    Plan,
    Style,
    frame,
)
from desktop.picture.diagram.generator import between, draw_generator, gate_w, legs_of, tallest
from desktop.picture.diagram.labels import NAMES, WIDEST_VALUE, Label, alarmed, label
from desktop.picture.diagram.lettering import largest, packed, put_line, shortened, stacked
from desktop.picture.diagram.lock import draw_lock, draw_losses
from desktop.picture.diagram.reservoir import Reservoir
from desktop.picture.diagram.shapes import Area, Box, Drawing, Mark, Measure, Picture, Text, bounds
from desktop.picture.diagram.stubs import STUB_PAD, draw_stub, quiet_lines, stub_room
from desktop.review.moment import GapNow, Moment
from desktop.words import Phrase, template, tr

_BUS_NAMES = {"ac": template("AC bus"), "dc": template("DC bus")}
_LEAST_SHARE = 0.75
"""Of its scale, what unaccounted power leaves to the picture; a stub that is still too wide is torn off."""

_DETAIL_TEMPLATE = Phrase("{current:A} · {volts:V}", current=188.8, volts=230.0)


def layout(moment: Moment, width: float, height: float, measure: Measure) -> Picture:
    """The picture of a moment on a page of this size, px. The font's scale is in what `measure` says of size 1."""
    return _Layout(moment, width, height, measure).picture()


class _Layout:
    def __init__(self, moment: Moment, width: float, height: float, measure: Measure) -> None:
        self.moment, self.measure = moment, measure
        self.width, self.height = width, height
        self.flows = flows(moment)
        self.frame = frame(self._plan(), width, height, self._letters())
        self.style: Style = STYLES[self.frame.style]
        self.em = self.frame.em
        self.scale = self._scale()
        self.drawing = Drawing()
        self.ends: dict[str, float] = {}
        self.untold = {"limit", "level", "target"}

    def picture(self) -> Picture:
        """All shapes, from the ground up."""
        if self.flows:
            self._channels()
            self._stubs()
            self._buses()
            if self.frame.lock is not None:
                draw_lock(self.drawing, self.flows, self.frame.lock, self.em, self.measure)
            self._reservoir()
            self._labels()
        self._bottom_line()
        drawing = self.drawing
        return Picture(
            width=self.width,
            height=self.height,
            scale=self.scale,
            em=self.em,
            stale=self.moment.stale,
            areas=tuple(drawing.areas),
            lines=tuple(drawing.lines),
            texts=tuple(drawing.texts),
            marks=tuple(drawing.marks),
            currents=() if self.moment.stale else tuple(drawing.currents),
        )

    # --- what the places depend upon

    def _plan(self) -> Plan:
        capacity = {
            name: self.flows[name].capacity
            for name in (*LEFT_AC, *RIGHT_AC, *LEFT_DC, *RIGHT_DC)
            if name in self.flows
        }
        gate = False
        if "generator" in capacity:
            limit = gate_w(self.moment, capacity["generator"])
            gate = limit is not None
            capacity["generator"] = max(capacity["generator"], limit or 0.0)
        through = [
            self.flows[name].capacity for name in ("converter_ac", "converter_dc") if name in self.flows
        ]
        if through:
            capacity["converter"] = max(through)
        return Plan(tuple(capacity.items()), gate)

    def _letters(self) -> Letters:
        measure = self.measure
        blocks: list[float] = []
        left: list[float] = []
        right: list[float] = []
        for style in STYLES:
            value = measure(str(WIDEST_VALUE), style.value, True)
            details = measure(str(_DETAIL_TEMPLATE), style.detail, False)
            high = measure("0", style.name, True)[1] + value[1] + style.details * details[1]
            blocks.append(1.08 * high + 2)
            for names, widths in (((*LEFT_AC, *LEFT_DC), left), ((*RIGHT_AC, *RIGHT_DC), right)):
                named = max(measure(tr(NAMES[name]), style.name, True)[0] for name in names)
                sign = 1.2 * measure("0", 1.0, False)[1]
                widths.append(max(named, value[0] + sign, details[0] if style.details else 0.0) + 1)
        em, small = measure("0", 1.0, False)[1], measure("0", 0.85, False)[1]
        return Letters(em, small, tuple(blocks), tuple(left), tuple(right))

    # --- one scale for all

    def _scale(self) -> float:
        """The frame's pixels per watt, or fewer where something needs more than its room."""
        scale = self.frame.scale
        for name, lane in self.frame.lanes.items():
            flow = self.flows.get(name)
            if flow is None:
                continue
            need, room = max(flow.watts, 0.0 if name == "loss" else flow.capacity), lane.room
            if name == "generator":
                legs = legs_of(self.moment, flow)
                need = tallest(legs) * len(legs)
                room = max(room - (len(legs) - 1) * between(legs, room, self.em), 1.0)
            if need > 0:
                scale = min(scale, room / need)
        whole = scale
        for gap in self._shown_gaps():
            scale = min(scale, stub_room(self.frame.stubs[gap.place]) / abs(gap.value))
        # A meter may be wrong without bound; the rest of the picture has to stay readable.
        return max(scale, _LEAST_SHARE * whole)

    def _shown_gaps(self) -> list[GapNow]:
        return [
            gap for gap in self.moment.gaps if gap.significant and gap.value and gap.place in self.frame.stubs
        ]

    # --- the parts

    def _channels(self) -> None:
        stretches = []
        for name, lane in self.frame.lanes.items():
            flow = self.flows.get(name)
            if flow is None or name in ("generator", "loss"):
                continue
            over = flow.capacity if alarmed(self.moment, name) and flow.watts > flow.capacity else None
            stretches.append(Stretch(flow, lane.course, over))
        for stretch in stretches:
            draw_bed(self.drawing, stretch, self.scale)
        for stretch in stretches:
            draw_water(self.drawing, stretch, self.scale)
        if "generator" in self.frame.lanes:
            flow, lane = self.flows["generator"], self.frame.lanes["generator"]
            if draw_generator(self.drawing, self.moment, flow, lane, self.scale, self.em, self.measure):
                self.untold.discard("limit")
        trickle = self.frame.lanes.get("loss")
        if trickle is not None and "loss" in self.flows and self.frame.losses is not None:
            draw_losses(
                self.drawing,
                self.flows,
                trickle,
                self.frame.losses,
                self.scale,
                self.style.detail,
                self.measure,
            )

    def _buses(self) -> None:
        for bus, bar in self.frame.bars.items():
            tops = [bounds(area.path).top - 2 for area in self.drawing.areas if area.stream in _LEVEL_AT[bus]]
            tops.append(bar.top)
            bottom = max(bar.bottom, self.ends.get(bus, bar.bottom))
            bar = Box(bar.left, max(min(tops), self.frame.margin / 2), bar.right, bottom)
            self.drawing.areas.append(Area("bus", bar.path(), "bar", bus))
            if self.style.bus_names:
                self._bus_name(bus, bar)

    def _bus_name(self, bus: str, bar: Box) -> None:
        text = tr(_BUS_NAMES[bus])
        wide, high = self.measure(text, 0.85, False)
        gates = [bounds(line.path) for line in self.drawing.lines if line.kind == "gate"]
        foot = min([bar.top, *(gate.top for gate in gates if bus == "ac")]) - 2
        for left in self._name_places(bus, bar, wide):
            room = Box(left, foot - high, left + wide, foot)
            inside = room.top > 0.3 * self.em and room.right < self.width - self.frame.margin
            if inside and not any(room.meets(other) for other in self._around_lock()):
                put_line(self.drawing, Text(text, room, "muted", 0.85, of=bus), room, self.measure)
                return

    def _name_places(self, bus: str, bar: Box, wide: float) -> tuple[float, ...]:
        """Where a bus's name may begin: over its bar, or beside what comes out of the lock."""
        lock = self.frame.lock
        if bus == "ac" or lock is None:
            return (bar.centre[0] - wide / 2,)
        return bar.left, lock.right + 2.6 * self.em

    def _around_lock(self) -> list[Box]:
        lock = self.frame.lock
        if lock is None:
            return []
        trickle = [bounds(area.path) for area in self.drawing.areas if area.stream == "loss"]
        trickle += [bounds(line.path) for line in self.drawing.lines if line.kind == "drip"]
        return [lock, *(Box(one.left, one.top - 1, one.right, one.bottom + 1) for one in trickle)]

    def _stubs(self) -> None:
        for gap in self._shown_gaps():
            room = self.frame.stubs[gap.place]
            stub = draw_stub(self.drawing, gap, room, self.frame.margin, self.scale, self.em, self.measure)
            self.ends[gap.place] = stub.bottom + STUB_PAD

    def _reservoir(self) -> None:
        tank = self.frame.reservoir
        if tank is None:
            return
        battery = self.moment.battery
        lane = self.frame.lanes["battery"]
        flow, floor = self.flows["battery"], lane.course.start[1]
        mouth = (floor - max(flow.capacity, flow.watts) * self.scale, floor)
        made = Reservoir(battery, tank, mouth, self.em, self.measure)
        made.draw(self.drawing, with_names=self.frame.style < 3)
        self.untold -= made.told

    def _labels(self) -> None:
        both = "solar" in self.flows and "solar_ac" in self.flows
        for name, lane in self.frame.lanes.items():
            flow = self.flows.get(name)
            if flow is not None and lane.label is not None:
                told = label(self.moment, flow, both_suns=both, untold=self.untold)
                self._label(flow, lane, lane.label, told)

    def _label(self, flow: Flow, lane: Lane, area: Box, told: Label) -> None:
        style, measure = self.style, self.measure
        role = "act now" if told.alarm else "text"
        mark = min(0.8 * self.em, 0.6 * measure("0", style.value, True)[1]) if told.alarm else 0.0
        lines = []
        name = shortened(told.name, area.width, style.name, True, measure)
        if name:
            lines.append(Text(name, area, "text", style.name, True, of=flow.stream))
        sizes = [size for size in (style.value, 1.0, style.name, style.detail) if size <= style.value]
        size = largest(
            told.value,
            area.width - 1.4 * mark,
            sizes if told.known else [style.name, style.detail],
            told.known,
            measure,
        )
        if size is not None:
            quiet = "muted" if self.moment.stale or not told.known else role
            lines.append(Text(told.value, area, quiet, size, told.known, of=flow.stream))
        details = packed(told.details, style.details, area.width, style.detail, measure)
        lines += [Text(one, area, "muted", style.detail, of=flow.stream) for one in details]
        middle = lane.course.start[1] - flow.capacity * self.scale / 2
        put = stacked(self.drawing, lines, area, middle, measure)
        if told.alarm and len(put) > 1 and size is not None:
            box = put[1].box
            mark = min(mark, 0.7 * box.height)
            self.drawing.marks.append(Mark("act now", (box.right + 0.8 * mark, box.centre[1]), mark))

    def _bottom_line(self) -> None:
        """At the lower left: whether all powers add up, or that nothing new is known."""
        if any(gap.place == "dc" for gap in self._shown_gaps()):
            return
        strip, size = self.frame.strip, self.style.detail
        for phrase in self._wordings():
            line = Text(str(phrase), strip, "muted", size, of="balance")
            if put_line(self.drawing, line, strip, self.measure):
                return

    def _wordings(self) -> tuple[Phrase, ...]:
        if self.moment.row < 0:
            return (Phrase("No readings yet"),)
        if self.moment.stale:
            long = Phrase("No readings for this time: the last ones are shown")
            return long, Phrase("No readings for this time"), Phrase("No readings")
        powers = [abs(stream.value) for stream in self.moment.streams.values()]
        return quiet_lines(self.moment.gaps, max((one for one in powers if one >= 0), default=0.0))


_LEVEL_AT = {"ac": (*LEFT_AC, *RIGHT_AC), "dc": (*LEFT_DC, *RIGHT_DC)}
