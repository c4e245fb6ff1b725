"""The battery as a reservoir with its level, its target mark and its reserve mark."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

from desktop.picture.diagram.lettering import put_line
from desktop.picture.diagram.shapes import Area, Box, Drawing, Line, Measure, Path, Text
from desktop.review.moment import BatteryNow
from desktop.words import Phrase, template

_PAD = 3.0


class Reservoir:
    """The reservoir on its way into a drawing.

    tank        its inside
    mouth       top and bottom of the channel that opens into it

    What found room in it in words is in `told` afterwards: "level", "target", "reserve".
    """

    def __init__(
        self, battery: BatteryNow, tank: Box, mouth: tuple[float, float], em: float, measure: Measure
    ) -> None:
        self._battery, self._tank, self._mouth = battery, tank, mouth
        self._em, self._measure = em, measure
        self._known = math.isfinite(battery.soc)
        self._surface = self._level(battery.soc) if self._known else tank.bottom
        self._taken: list[float] = [self._surface] if self._known else []
        self.told: set[str] = set()

    def draw(self, drawing: Drawing, *, with_names: bool) -> None:
        """Draw it, the marks with or without their names."""
        tank = self._tank
        drawing.areas.append(Area("reservoir", tank.path(), "bed", "battery"))
        if self._known and self._surface < tank.bottom:
            water = Box(tank.left, self._surface, tank.right, tank.bottom)
            drawing.areas.append(Area("stored", water.path(), "stored", "battery", "battery"))
            self._across(drawing, self._surface, Line("surface", (), "battery", 2.0, None, "battery"))
        marks = self._marks(drawing)
        self._walls(drawing)
        self._words(drawing, marks if with_names else [])

    def _words(self, drawing: Drawing, marks: list[tuple[float, str]]) -> None:
        """Names of marks and the state of charge, which comes first where there isn't room for all."""
        free, said = list(self._taken), len(drawing.texts)
        self._names(drawing, marks)
        self._tell(drawing)
        if "level" not in self.told:
            del drawing.texts[said:]
            self._taken = free
            self.told.clear()
            self._tell(drawing)
            self._names(drawing, marks)

    def _level(self, percent: float) -> float:
        return self._tank.bottom - self._tank.height * min(max(percent, 0.0), 100.0) / 100

    def _across(self, drawing: Drawing, level: float, line: Line) -> None:
        path: Path = (("M", self._tank.left, level), ("L", self._tank.right, level))
        drawing.lines.append(replace(line, path=path))

    def _walls(self, drawing: Drawing) -> None:
        tank, (rim, floor) = self._tank, self._mouth
        thick = max(1.5, 0.13 * self._em)
        low: Path = (
            ("M", tank.left, floor),
            ("L", tank.left, tank.bottom),
            ("L", tank.right, tank.bottom),
            ("L", tank.right, tank.top),
        )
        high: Path = (("M", tank.left, tank.top), ("L", tank.left, rim))
        drawing.lines += [Line("wall", path, "bar", thick, None, "battery") for path in (low, high)]

    def _marks(self, drawing: Drawing) -> list[tuple[float, str]]:
        """Draw the marks. Their levels in percent, with the templates of their names."""
        battery = self._battery
        named = (
            (battery.target_soc, template("target {soc:%}")),
            (battery.reserve_soc, template("reserve {soc:%}")),
        )
        levels = [(percent, name) for percent, name in named if math.isfinite(percent) and 0 < percent < 100]
        self._taken += [self._level(percent) for percent, _ in levels]
        for percent, _ in levels:
            level = self._level(percent)
            self._across(drawing, level, Line("mark", (), "text", 1.0, (4.0, 3.0), "battery"))
        return levels

    def _names(self, drawing: Drawing, marks: list[tuple[float, str]]) -> None:
        for percent, name in marks:
            self._name(drawing, self._level(percent), name.split()[0], str(Phrase(name, soc=percent)))

    def _name(self, drawing: Drawing, level: float, name: str, text: str) -> None:
        """A mark's name close above its line, if nothing else is there."""
        tank, size = self._tank, 0.75
        high = self._measure(text, size, False)[1]
        box = Box(tank.left + 2 * _PAD, level - high - 1, tank.right - 2 * _PAD, level - 1)
        if box.top < tank.top + 1 or not self._free(box, 1):
            return
        role, ground = self._ink(box, "muted")
        line = Text(text, box, role, size, align="right", ground=ground, of="battery")
        if put_line(drawing, line, box, self._measure):
            self.told.add(name)
            self._taken += [box.top, (box.top + box.bottom) / 2, box.bottom]

    def _tell(self, drawing: Drawing) -> None:
        """The state of charge in the first free place: in the water, above it, anywhere else."""
        tank, surface = self._tank, self._surface
        text = str(Phrase("{soc:%}", soc=self._battery.soc))
        sizes = (1.5, 1.2, 1.0, 0.85, 0.7) if self._known else (0.85,)
        good = ((surface + tank.bottom) / 2, (tank.top + surface) / 2)
        other = tuple(tank.bottom - tank.height * share for share in (0.5, 0.35, 0.65, 0.1, 0.9))
        for middle, size in (*product(good, sizes), *product(other, sizes)):
            wide, high = self._measure(text, size, self._known)
            box = Box(tank.left, middle - high / 2, tank.right, middle + high / 2)
            inside = tank.top + 1 < box.top and box.bottom < tank.bottom - 1 and wide + 2 * _PAD <= tank.width
            if inside and self._free(box, 2):
                role, ground = self._ink(box, "text" if self._known else "muted")
                line = Text(text, box, role, size, self._known, "centre", ground, "battery")
                if put_line(drawing, line, box, self._measure):
                    self.told.add("level")
                    return

    def _free(self, box: Box, slack: float) -> bool:
        return not any(box.top - slack < level < box.bottom + slack for level in self._taken)

    def _ink(self, box: Box, dry: str) -> tuple[str, str]:
        """Role and ground of a text: in the water, or above it."""
        return ("stored_text", "stored") if self._known and box.top > self._surface else (dry, "bed")
