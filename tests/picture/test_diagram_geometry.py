"""The diagram of thousands of random plants, powers and pages, by geometry."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from diagram_geometry import common, ends_of, everything, water
from diagram_moments import SIZES, TEXT_SCALES, plain_measure, random_moment, same_plant_other_powers

from desktop.flow.streams import SINKS, SOURCES
from desktop.picture.diagram import Picture, layout
from desktop.picture.diagram.examples import examples
from desktop.picture.diagram.shapes import Area, Box, Point, Text, bounds, flattened
from desktop.review.moment import GapNow, Moment

SEEDS = range(1200)

_ENTERS = {"ac": ("generator", "grid", "solar_ac"), "dc": ("solar", "converter_dc")}
_LEAVES = {"ac": ("load", "converter_ac"), "dc": ("battery", "dc_load")}


def cases(seeds: range) -> list[tuple[Moment, Picture]]:
    made = []
    for seed in seeds:
        width, height = SIZES[seed % len(SIZES)]
        moment = random_moment(seed)
        made.append((moment, layout(moment, width, height, plain_measure(TEXT_SCALES[seed % 3]))))
    return made


@pytest.fixture(scope="module")
def drawn() -> list[tuple[Moment, Picture]]:
    return cases(SEEDS)


def test_nothing_leaves_the_page(drawn: list[tuple[Moment, Picture]]) -> None:
    for _, picture in drawn:
        for what, box in everything(picture):
            inside = box.left > -0.5 and box.top > -0.5
            inside = inside and box.right < picture.width + 0.5 and box.bottom < picture.height + 0.5
            assert inside, (what, box, picture.width, picture.height)


def test_no_text_lies_over_another(drawn: list[tuple[Moment, Picture]]) -> None:
    for _, picture in drawn:
        for one, other in itertools.combinations(picture.texts, 2):
            assert not one.box.meets(other.box, 0.25), (one, other, picture.width)


def test_no_text_lies_over_a_channel(drawn: list[tuple[Moment, Picture]]) -> None:
    for _, picture in drawn:
        for text, area in itertools.product(picture.texts, picture.areas):
            if not _stands_in(text, area.kind, area.stream):
                assert common(area, text.box) < 0.5, (text, area.kind, area.stream, bounds(area.path))


def _stands_in(text: Text, kind: str, stream: str) -> bool:
    """Texts of the reservoir and of the lock stand in them."""
    if text.ground in ("bed", "stored"):
        return kind == "reservoir" or (kind == "stored" and text.ground == "stored")
    return text.ground == "panel" and kind == "lock" and stream == "converter"


def test_channels_do_not_lie_over_one_another(drawn: list[tuple[Moment, Picture]]) -> None:
    for _, picture in drawn:
        solid = [area for area in picture.areas if area.kind not in ("stored", "bus")]
        level = [area for area in solid if all(step[0] != "C" for step in area.path)]
        for area, other in itertools.product(solid, level):
            if area.stream != other.stream and not _joined(area.stream, other.stream):
                assert common(area, bounds(other.path)) < 0.5, (area, other)


def _joined(one: str, other: str) -> bool:
    """The lock covers the ends of the channels that lead into it."""
    return {one, other} in ({"converter", "converter_ac"}, {"converter", "converter_dc"})


def test_text_in_the_reservoir_stands_wholly_on_its_ground(drawn: list[tuple[Moment, Picture]]) -> None:
    for _, picture in drawn:
        for text in picture.texts:
            kind = {"bed": "reservoir", "stored": "stored", "panel": "lock"}.get(text.ground)
            if kind:
                grounds = [area for area in picture.areas if area.kind == kind]
                shared = common(grounds[0], text.box)
                assert shared == pytest.approx(text.box.width * text.box.height, abs=0.5)


def test_no_text_lies_over_a_line_or_a_mark(drawn: list[tuple[Moment, Picture]]) -> None:
    for _, picture in drawn:
        boxes = [
            (line.kind, _around(*ends))
            for line in picture.lines
            for ends in itertools.pairwise(flattened(line.path))
        ]
        for mark in picture.marks:
            (x, y), half = mark.centre, mark.size / 2
            boxes.append(("mark", Box(x - half, y - half, x + half, y + half)))
        for text, (kind, box) in itertools.product(picture.texts, boxes):
            assert not _crosses(text.box, box), (text, kind, box)


def _around(one: Point, other: Point) -> Box:
    (ax, ay), (bx, by) = one, other
    return Box(min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))


def _crosses(text: Box, box: Box) -> bool:
    thin = Box(box.left - 0.01, box.top - 0.01, box.right + 0.01, box.bottom + 0.01)
    inner = Box(text.left + 0.3, text.top + 0.3, text.right - 0.3, text.bottom - 0.3)
    return inner.meets(thin)


def test_one_scale_holds_for_everything(drawn: list[tuple[Moment, Picture]]) -> None:
    for _, picture in drawn:
        for area in picture.areas:
            if area.kind in ("bed", "unknown", "water", "overflow", "stub") and area.width:
                assert area.width == pytest.approx(area.watts * picture.scale, rel=1e-9)
            if area.kind in ("bed", "unknown", "water", "overflow") and area.width:
                assert ends_of(area) == pytest.approx((area.width, area.width), abs=1e-6)


def test_water_is_as_wide_as_what_flows(drawn: list[tuple[Moment, Picture]]) -> None:
    for moment, picture in drawn:
        for name, stream in moment.streams.items():
            flowing = {area.path: area for area in water(picture, name)}.values()
            pieces = [area for area in flowing if name != "loss" or _is_first(area, picture)]
            drawn_w = sum(area.watts for area in pieces)
            expected = abs(stream.value) if stream.knowledge not in ("absent", "unknown") else 0.0
            assert drawn_w == pytest.approx(expected, rel=1e-9, abs=1e-9), name


def _is_first(area: Area, picture: Picture) -> bool:
    """The trickle of losses is drawn in pieces: of them the one at the lock."""
    lock = next(bounds(one.path) for one in picture.areas if one.kind == "lock")
    return abs(bounds(area.path).left - lock.right) < 0.01


def test_widths_sum_at_every_bus(drawn: list[tuple[Moment, Picture]]) -> None:
    for moment, picture in drawn:
        if any(stream.knowledge == "unknown" for stream in moment.streams.values()):
            continue
        for bus in ("ac", "dc"):
            entering = sum(_signed_width(moment, picture, name) for name in _ENTERS[bus])
            leaving = sum(_signed_width(moment, picture, name) for name in _LEAVES[bus])
            assert entering == pytest.approx(leaving, abs=1e-6)


def _signed_width(moment: Moment, picture: Picture, name: str) -> float:
    wide = sum(ends_of(area)[0] for area in water(picture, name))
    return math.copysign(wide, moment.streams[name].value)


def test_water_keeps_its_source(drawn: list[tuple[Moment, Picture]]) -> None:
    for moment, picture in drawn:
        if math.isnan(moment.table.sum()):
            continue
        for column, sink in enumerate(SINKS):
            if sink in ("losses",) or moment.streams[sink].knowledge == "absent":
                continue
            into = moment.streams[sink].value < 0 if sink == "grid" else moment.streams[sink].value > 0
            if not into:
                continue
            for row, source in enumerate(SOURCES):
                watts = sum(area.watts for area in water(picture, sink) if area.source == source)
                assert watts == pytest.approx(moment.table[row, column], rel=1e-6, abs=1e-6)


def test_unknown_is_never_drawn_as_nothing(drawn: list[tuple[Moment, Picture]]) -> None:
    for moment, picture in drawn:
        kinds = {(area.kind, area.stream) for area in picture.areas}
        for name, stream in moment.streams.items():
            if stream.knowledge == "unknown" and name != "loss":
                assert ("unknown", name) in kinds
                assert ("bed", name) not in kinds
            elif stream.knowledge != "absent" and name not in ("loss",):
                assert ("bed", name) in kinds


def test_every_unaccounted_power_has_its_stub(drawn: list[tuple[Moment, Picture]]) -> None:
    for moment, picture in drawn:
        stubs = {area.stream: area for area in picture.areas if area.kind == "stub"}
        bars = {area.stream: bounds(area.path) for area in picture.areas if area.kind == "bus"}
        for gap in moment.gaps:
            if not gap.significant:
                assert gap.place not in stubs
            elif gap.place in bars:
                stub, bar = bounds(stubs[gap.place].path), bars[gap.place]
                whole = abs(gap.value) * picture.scale
                if stubs[gap.place].width:
                    assert stub.height == pytest.approx(whole)
                    assert not any(
                        "not to scale" in text.text for text in picture.texts if text.of == gap.place
                    )
                else:
                    assert stub.height < whole
                assert stub.right == pytest.approx(bar.left)
                assert bar.top < stub.top
                assert stub.bottom < bar.bottom


@pytest.mark.parametrize("factor", [0.0, 0.3, 4.0, -1.0])
def test_places_do_not_move_with_the_powers(factor: float) -> None:
    for seed in range(1, 200, 2):
        width, height = SIZES[seed % len(SIZES)]
        moment = random_moment(seed)
        other = same_plant_other_powers(moment, factor)
        one, two = (layout(each, width, height, plain_measure(1.0)) for each in (moment, other))
        assert _places(one) == pytest.approx(_places(two))


def _places(picture: Picture) -> dict[str, float]:
    """Floors of channels, the bars' places across, the reservoir and the lock."""
    found: dict[str, float] = {}
    for area in picture.areas:
        box = bounds(area.path)
        if area.kind in ("bed", "unknown") and area.stream not in ("generator", "converter_dc"):
            found[f"floor {area.stream}"] = box.bottom
        if area.kind in ("bus", "lock", "reservoir"):
            found[f"left {area.kind} {area.stream}"] = box.left
        if area.kind in ("lock", "reservoir"):
            found[f"top {area.kind}"] = box.top
    return found


def test_more_power_than_room_narrows_the_whole_picture() -> None:
    moment = examples()["charging"]
    flooded = same_plant_other_powers(moment, 20.0)
    one, two = (layout(each, 920, 440, plain_measure(1.0)) for each in (moment, flooded))
    assert two.scale < one.scale / 2


def test_a_meter_that_is_wrong_without_bound_leaves_the_picture_readable() -> None:
    moment = examples()["charging"]
    lost = replace(moment, gaps=(GapNow("ac", 90_000.0, 500.0, True),))
    one, two = (layout(each, 1440, 700, plain_measure(1.0)) for each in (moment, lost))
    assert two.scale > 0.7 * one.scale
    assert any(text.text == "90.00 ± 0.50 kW goes missing (not to scale)" for text in two.texts)


@pytest.mark.parametrize("name", sorted(examples()))
@pytest.mark.parametrize("scale", TEXT_SCALES)
def test_every_example_names_every_stream_on_every_page(name: str, scale: float) -> None:
    moment = examples()[name]
    for width, height in SIZES:
        picture = layout(moment, width, height, plain_measure(scale))
        for stream in ("grid", "generator", "solar_ac", "solar", "load", "dc_load", "battery"):
            if moment.streams[stream].knowledge != "absent":
                told = [text for text in picture.texts if text.of == stream and text.ground == "ground"]
                assert len(told) >= 2, (name, stream, width, height)


@pytest.mark.slow
def test_many_more() -> None:
    drawn = cases(range(2000, 12000))
    test_nothing_leaves_the_page(drawn)
    test_no_text_lies_over_another(drawn)
    test_no_text_lies_over_a_channel(drawn)
    test_no_text_lies_over_a_line_or_a_mark(drawn)
    test_channels_do_not_lie_over_one_another(drawn)
    test_widths_sum_at_every_bus(drawn)
