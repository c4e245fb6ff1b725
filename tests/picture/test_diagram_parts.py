"""Which part of the diagram a click means, on many plants and pages."""

from __future__ import annotations

import pytest
from diagram_moments import SIZES, TEXT_SCALES, plain_measure, random_moment

from desktop.picture.diagram import Picture, layout
from desktop.picture.diagram.parts import PART_NAMES, box_of, part_at, part_name, parts, paths_of
from desktop.picture.diagram.shapes import bounds
from desktop.teaching.notes import PARTS

NEVER = {"", "balance", "limit", "level", "target"}


@pytest.fixture(scope="module")
def pictures() -> list[Picture]:
    made = []
    for seed in range(80):
        width, height = SIZES[seed % len(SIZES)]
        made.append(layout(random_moment(seed), width, height, plain_measure(TEXT_SCALES[seed % 3])))
    return made


def test_every_part_that_can_be_chosen_can_be_asked_for_and_has_a_name(pictures: list[Picture]) -> None:
    for picture in pictures:
        assert set(parts(picture)) <= set(PARTS)
    assert set(PARTS) == set(PART_NAMES)
    assert all(part_name(part) for part in PARTS)


def test_a_click_on_a_bus_or_on_the_converter_means_it(pictures: list[Picture]) -> None:
    for picture in pictures:
        for area in picture.areas:
            if area.kind in ("bus", "lock"):
                x, y = bounds(area.path).centre
                assert part_at(picture, x, y) == area.stream


def test_a_click_on_water_means_its_stream(pictures: list[Picture]) -> None:
    for picture in pictures:
        for current in picture.currents:
            if current.source == "unaccounted":
                continue
            x, y = current.path[0][1:3]
            x2, y2 = current.path[1][-2:]
            assert part_at(picture, (x + x2) / 2, (y + y2) / 2) in (current.stream, "ac", "dc", "converter")


def test_a_click_on_words_means_what_they_tell_of(pictures: list[Picture]) -> None:
    for picture in pictures:
        for text in picture.texts:
            if text.of not in NEVER:
                found = part_at(picture, *text.box.centre)
                assert found == text.of or text.of in ("battery", "generator", "ac", "dc"), text


def test_a_click_beside_everything_means_nothing(pictures: list[Picture]) -> None:
    for picture in pictures:
        assert part_at(picture, picture.width - 0.5, 0.5) == ""


def test_every_part_has_a_place(pictures: list[Picture]) -> None:
    for picture in pictures:
        for part in parts(picture):
            box = box_of(picture, part)
            assert box is not None
            assert all(bounds(path).meets(box) for path in paths_of(picture, part) if bounds(path).height > 1)
        assert box_of(picture, "nothing") is None
