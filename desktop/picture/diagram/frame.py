"""Where everything lies. Places depend on the plant, its ratings, the page and the letters: never on what flows.

Sources stand at the left, sinks at the right, the reservoir below right, the grid above left. The AC bus
lies above, the DC bus below, the converter as a lock between them.

Where the page is small, text gives way in this order: second lines of details, all details, the names of the
buses together with large values, and at last every letter becomes smaller in steps. Channels take what height
is left.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from desktop.picture.diagram.course import EAST, SOUTH, Course, Straight, Turn
from desktop.picture.diagram.shapes import Box

LEFT_AC = ("grid", "generator", "solar_ac")
LEFT_DC = ("solar",)
RIGHT_AC = ("load",)
RIGHT_DC = ("dc_load", "battery")

_WIDEST_COLUMN = 0.26
"""The share of the page's width that a column of labels may take."""


@dataclass(frozen=True, slots=True)
class Style:
    """How much text there is: sizes of names, values and details, lines of details, names of buses."""

    name: float
    value: float
    detail: float
    details: int
    bus_names: bool


STYLES: tuple[Style, ...] = (
    Style(1.0, 1.4, 0.85, 2, True),
    Style(1.0, 1.4, 0.85, 1, True),
    Style(1.0, 1.25, 0.85, 0, True),
    Style(0.85, 1.0, 0.85, 0, False),
    Style(0.75, 0.8, 0.75, 0, False),
    Style(0.6, 0.65, 0.6, 0, False),
    Style(0.5, 0.52, 0.5, 0, False),
)
"""From the most to the least text."""


@dataclass(frozen=True, slots=True)
class Letters:
    """Sizes of text, px: a line, a line of details, and per style a label's height and each column's width."""

    em: float
    small: float
    blocks: tuple[float, ...]
    left: tuple[float, ...]
    right: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """The plant: the streams that it has (both sides of the converter as "converter") with what they can carry, W;
    and whether there is a gate across the generator's channel."""

    capacity: tuple[tuple[str, float], ...]
    gate: bool


@dataclass(frozen=True, slots=True)
class Lane:
    """A channel's place: its course, how much room there is above its floor, and where its label may stand."""

    course: Course
    room: float
    label: Box | None = None


@dataclass(frozen=True, slots=True)
class Frame:
    """All places. `scale` is the largest number of pixels per watt at which every capacity has room."""

    style: int
    scale: float
    em: float
    margin: float
    lanes: dict[str, Lane]
    bars: dict[str, Box]
    lock: Box | None
    reservoir: Box | None
    losses: Box | None
    strip: Box
    stubs: dict[str, Box]


@lru_cache(maxsize=64)
def frame(plan: Plan, width: float, height: float, letters: Letters) -> Frame:
    """The places of a plan on a page. Of the styles, the first that leaves enough height to the channels."""
    made = None
    for style in range(len(STYLES)):
        made = _Surveyor(plan, width, height, letters, style)
        roomy = made.scale * made.largest >= min(2.5 * letters.em, 0.125 * height)
        widest = max(letters.left[style], letters.right[style])
        if roomy and widest <= _WIDEST_COLUMN * width:
            break
    assert made is not None
    return made.frame()


class _Surveyor:
    def __init__(self, plan: Plan, width: float, height: float, letters: Letters, style: int) -> None:
        self.capacity = dict(plan.capacity)
        self.largest = max(self.capacity.values(), default=1.0)
        self.width, self.height = width, height
        self.letters, self.style = letters, style
        self.em = min(letters.em, 0.045 * height)
        self.block = letters.blocks[style]
        self.margin = 0.7 * self.em
        self.gap = 0.5 * self.em
        self.bar = max(4.0, 0.42 * self.em)
        self.gate = letters.small + 0.3 * self.em if plan.gate and style < 3 else 0.0
        self.top = self.margin + (letters.small + 0.3 * self.em if STYLES[style].bus_names else 0.0)
        self.line = letters.small * STYLES[style].detail / 0.85
        self.bottom = self.margin + max((1.5 if style < 3 else 1.2) * self.em, self.line + 0.4 * self.em)
        self.has_ac = any(name in self.capacity for name in (*LEFT_AC, *RIGHT_AC, "converter"))
        self.has_dc = any(name in self.capacity for name in (*LEFT_DC, *RIGHT_DC, "converter"))
        self._columns()
        self.scale = self._largest_scale()
        self._rows()

    # --- across the page

    def _columns(self) -> None:
        most = _WIDEST_COLUMN * self.width
        self.left_width = min(self.letters.left[self.style], most)
        self.right_width = min(self.letters.right[self.style], most)
        between = 0.8 * self.em
        self.x0 = self.margin + self.left_width + between
        self.x1 = self.width - self.margin - self.right_width - between
        span = self.x1 - self.x0
        self.tank = (
            min((0.24 if span > 22 * self.em else 0.2) * span, 10 * self.em)
            if "battery" in self.capacity
            else 0.0
        )
        self.widest_converter = 0.2 * span

    def _bend(self, scale: float) -> float:
        wide = scale * self.capacity.get("converter", 0.0)
        return min(max(0.35 * wide, 0.8 * self.em), 2.2 * self.em)

    # --- down the page

    def _slot(self, name: str, scale: float) -> float:
        if name not in self.capacity:
            return 0.0
        above = self.gate if name == "generator" else 0.0
        least = max(scale * self.capacity[name] + above, self.block)
        if name == "battery":
            least = max(least, 4 * self.em)
        return least + self.gap

    def _zones(self, scale: float) -> tuple[float, float, float]:
        """Heights that the AC side, the lock and the DC side need."""
        through = scale * self.capacity["converter"] + self.gap if "converter" in self.capacity else 0.0
        left = sum(self._slot(name, scale) for name in LEFT_AC)
        upper = max(left, self._slot("load", scale) + through) if self.has_ac else 0.0
        middle = 2 * self._bend(scale) + 2.2 * self.em if "converter" in self.capacity else 0.0
        if not self.has_dc:
            return upper, middle, 0.0
        sun = (
            max(scale * self.capacity["solar"], 0.7 * self.block) + self.gap
            if "solar" in self.capacity
            else 0.0
        )
        right = sum(self._slot(name, scale) for name in RIGHT_DC)
        return upper, middle, max(through + sun, right)

    def _largest_scale(self) -> float:
        room = self.height - self.top - self.bottom
        high = 0.2 * self.height / self.largest
        if "converter" in self.capacity:
            high = min(high, self.widest_converter / self.capacity["converter"])
        low = 0.0
        if sum(self._zones(high)) <= room:
            return high
        for _ in range(30):
            middle = (low + high) / 2
            low, high = (middle, high) if sum(self._zones(middle)) <= room else (low, middle)
        return max(low, 0.02 * self.height / self.largest)

    def _rows(self) -> None:
        upper, middle, lower = self._zones(self.scale)
        room = self.height - self.top - self.bottom
        spare = room - upper - middle - lower
        if spare < 0:
            upper, middle, lower = (room * part / (upper + middle + lower) for part in (upper, middle, lower))
        else:
            share = min(spare * 0.25, 4 * self.em) if middle else 0.0
            middle += share
            parts = upper + lower or 1.0
            upper, lower = (part + (spare - share) * part / parts for part in (upper, lower))
        self.ac_floor = self.top + upper
        self.dc_top = self.ac_floor + middle
        self.dc_floor = self.dc_top + lower

    # --- everything in its place

    def frame(self) -> Frame:
        self._crossings()
        lanes = {**self._ac_lanes(), **self._dc_lanes()}
        lanes |= self._lock_lanes()
        base = self.height - self.margin
        reservoir = None
        if "battery" in self.capacity:
            slot = self._battery_slot
            reservoir = Box(self.x1 - self.tank, slot.top, self.x1, base)
        return Frame(
            style=self.style,
            scale=self.scale,
            em=self.em,
            margin=self.margin,
            lanes=lanes,
            bars=self._bars(lanes),
            lock=self.lock,
            reservoir=reservoir,
            losses=self._losses(),
            strip=Box(self.margin, base - self.line - 0.1, self.x_dc - self.em, base),
            stubs=self._stubs(lanes),
        )

    def _crossings(self) -> None:
        """Where the buses cross the page, and the lock between them."""
        span = self.x1 - self.x0
        self.lock: Box | None = None
        if "converter" not in self.capacity:
            self.x_ac = self.x0 + 0.5 * span
            self.x_dc = self.x0 + 0.5 * (span - self.tank)
            return
        wide, bend = self.scale * self.capacity["converter"], self._bend(self.scale)
        least_run = 0.5 * self.em
        tight = wide + 2 * bend + 2 * least_run + 2 * self.bar
        spare = max(span - self.tank - tight, 0.0)
        run = least_run + min(0.09 * spare, 3 * self.em)
        inlet = 0.2 * spare
        self.x_dc = self.x1 - self.tank - inlet - self.bar / 2
        self.x_ac = self.x_dc - self.bar - 2 * run - 2 * bend - wide
        self.run, self.bend = run, bend
        middle = self.x_ac + self.bar / 2 + run + bend + wide / 2
        half = min(
            max(wide / 2 + 0.6 * self.em, min(3.6 * self.em, 0.13 * span)),
            middle - self.x_ac - self.bar / 2 - 2,
        )
        high = self.dc_top - self.ac_floor - 2 * bend
        high = max(min(high, 3.0 * self.em), 2.0)
        centre = (self.ac_floor + self.dc_top) / 2
        self.lock = Box(middle - half, centre - high / 2, middle + half, centre + high / 2)

    def _ac_lanes(self) -> dict[str, Lane]:
        lanes: dict[str, Lane] = {}
        names = [name for name in LEFT_AC if name in self.capacity]
        column = Box(self.margin, self.top, self.margin + self.left_width, self.ac_floor)
        for name, slot in self._stacked(names, column):
            lanes[name] = self._level_lane(name, slot, self.x0, self.x_ac - self.bar / 2)
        if "load" in self.capacity:
            floor = self.ac_floor
            if "converter" in self.capacity:
                floor -= self.scale * self.capacity["converter"] + self.gap
            slot = Box(self.x1 + 0.8 * self.em, self.top, self.width - self.margin, floor)
            lanes["load"] = self._level_lane("load", slot, self.x_ac + self.bar / 2, self.x1)
        return lanes

    def _dc_lanes(self) -> dict[str, Lane]:
        lanes: dict[str, Lane] = {}
        names = [name for name in RIGHT_DC if name in self.capacity]
        column = Box(self.x1 + 0.8 * self.em, self.dc_top, self.width - self.margin, self.dc_floor)
        for name, slot in self._stacked(names, column):
            end = self.x1 - self.tank if name == "battery" else self.x1
            lanes[name] = self._level_lane(name, slot, self.x_dc + self.bar / 2, end)
            if name == "battery":
                self._battery_slot = slot
                label = Box(slot.left, slot.top, slot.right, self.height - self.margin)
                lanes[name] = Lane(lanes[name].course, lanes[name].room, label)
        if "solar" in self.capacity:
            top = self.dc_top
            if "converter" in self.capacity:
                top += self.scale * self.capacity["converter"] + self.gap
            slot = Box(self.margin, top, self.margin + self.left_width, self.dc_floor)
            lane = self._level_lane("solar", slot, self.x0, self.x_dc - self.bar / 2)
            high = (self.ac_floor + self.dc_top) / 2 + self.letters.small if self.has_ac else self.top
            floors = [lane.course.start[1], *(one.course.start[1] for one in lanes.values())]
            label = Box(slot.left, high, slot.right, max(floors) + 0.35 * self.em)
            lanes["solar"] = Lane(lane.course, lane.room, label)
        return lanes

    def _stacked(self, names: list[str], column: Box) -> list[tuple[str, Box]]:
        """Slots one below another that fill a column."""
        needs = [self._slot(name, self.scale) for name in names]
        spare = column.height - sum(needs)
        if spare < 0:
            needs = [need * column.height / sum(needs) for need in needs]
            spare = 0.0
        found, top = [], column.top
        for name, need in zip(names, needs, strict=True):
            bottom = top + need + spare / len(names)
            found.append((name, Box(column.left, top, column.right, bottom)))
            top = bottom
        return found

    def _level_lane(self, name: str, slot: Box, start: float, end: float) -> Lane:
        """A level channel in the middle of its slot."""
        above = self.gate if name == "generator" else 0.0
        high = self.scale * self.capacity[name] + above
        floor = min(slot.top + (slot.height + high) / 2, slot.bottom - 1)
        course = Course((start, floor), EAST, (Straight(end - start),))
        return Lane(course, max(floor - slot.top - 2, 1.0), slot)

    def _lock_lanes(self) -> dict[str, Lane]:
        if self.lock is None:
            return {}
        wide = self.scale * self.capacity["converter"]
        start = self.x_ac + self.bar / 2
        upper = Course(
            (start, self.ac_floor),
            EAST,
            (
                Straight(self.run),
                Turn(True, self.bend),
                Straight(max(self.lock.top - self.ac_floor - self.bend, 0.0)),
            ),
        )
        floor_x = start + self.run + self.bend
        lower = Course(
            (floor_x, self.lock.bottom),
            SOUTH,
            (
                Straight(max(self.dc_top - self.bend - self.lock.bottom, 0.0)),
                Turn(False, self.bend + wide),
                Straight(self.run),
            ),
        )
        out = Course((self.lock.right, self.lock.centre[1]), EAST, (Straight(2.2 * self.em),))
        room = wide + 0.8 * min(self.gap, self.bend)
        return {
            "converter_ac": Lane(upper, room),
            "converter_dc": Lane(lower, room),
            "loss": Lane(out, self.lock.height - 2),
        }

    def _bars(self, lanes: dict[str, Lane]) -> dict[str, Box]:
        over = 0.35 * self.em
        found: dict[str, Box] = {}
        for bus, x, names in (
            ("ac", self.x_ac, (*LEFT_AC, *RIGHT_AC, "converter_ac")),
            ("dc", self.x_dc, (*LEFT_DC, *RIGHT_DC, "converter_dc")),
        ):
            floors = [(name, self._floor_at_bus(name, lanes)) for name in names if name in lanes]
            if floors:
                rims = [floor - self.scale * self._capacity(name) for name, floor in floors]
                bottom = max(floor for _, floor in floors) + over
                found[bus] = Box(x - self.bar / 2, min(rims) - over, x + self.bar / 2, bottom)
        return found

    def _capacity(self, name: str) -> float:
        return self.capacity["converter" if name.startswith("converter") else name]

    def _floor_at_bus(self, name: str, lanes: dict[str, Lane]) -> float:
        course = lanes[name].course
        return float(course.edge(0.0)[-1][-1]) if name == "converter_dc" else course.start[1]

    def _losses(self) -> Box | None:
        if self.lock is None:
            return None
        left = self.lock.right + 3.6 * self.em
        high = 2 * self.letters.small + 2
        centre = self.lock.centre[1]
        named = self.letters.small + 0.35 * self.em if STYLES[self.style].bus_names else 0.0
        top, bottom = max(centre - high, self.ac_floor + 2), min(centre + high, self.dc_top - 4 - named)
        return Box(left, top, self.width - self.margin, bottom)

    def _stubs(self, lanes: dict[str, Lane]) -> dict[str, Box]:
        """Where power that doesn't add up leaves to the left: at the lower ends of the buses, and at the lock."""
        found: dict[str, Box] = {}
        length = 2.4 * self.em
        for bus, bar in self._bars(lanes).items():
            below = self.lock.bottom if bus == "ac" and self.lock else self.height - 0.5 * self.margin
            found[bus] = Box(bar.left - length, bar.bottom, bar.left, max(below, bar.bottom + 1))
        if self.lock:
            found["both"] = Box(self.lock.left - length, self.lock.top, self.lock.left, self.lock.bottom)
        return found
