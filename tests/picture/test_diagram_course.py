"""Courses keep widths true in bends; chevrons point the way the water runs."""

import math

import numpy as np
import pytest

from desktop.picture.diagram.chevrons import chevrons
from desktop.picture.diagram.course import EAST, Course, Straight, Turn, reverse
from desktop.picture.diagram.shapes import Current, Point, bounds, flattened

DOWN_AND_AWAY = Course(
    (10.0, 50.0), EAST, (Straight(20.0), Turn(True, 8.0), Straight(30.0), Turn(False, 40.0), Straight(15.0))
)


def test_a_course_ends_where_its_pieces_lead() -> None:
    end = DOWN_AND_AWAY.edge(0.0)[-1]
    assert end[1:] == pytest.approx((10 + 20 + 8 + 40 + 15, 50 + 8 + 30 + 40))


@pytest.mark.parametrize("offset", [1.0, 12.5, 39.0])
def test_parallel_lines_keep_their_distance_everywhere(offset: float) -> None:
    floor = flattened(DOWN_AND_AWAY.edge(0.0), 200)
    edge = flattened(DOWN_AND_AWAY.edge(offset), 200)
    nearest = [min(math.dist(one, other) for other in floor) for one in edge]
    # The Bézier curve leaves the circle by 0.03 % of its radius; points on the floor are 0.3 px apart.
    assert max(nearest) == pytest.approx(offset, abs=0.05)
    assert min(nearest) == pytest.approx(offset, abs=0.05)


def test_a_ribbon_is_closed_and_holds_both_its_edges() -> None:
    ribbon = DOWN_AND_AWAY.ribbon(3.0, 10.0)
    assert ribbon[0] == DOWN_AND_AWAY.edge(10.0)[0]
    assert ribbon[-1] == ("Z",)
    corners = [step[-2:] for step in ribbon]
    assert DOWN_AND_AWAY.edge(3.0)[0][1:] in corners
    assert DOWN_AND_AWAY.edge(3.0)[-1][1:] in corners


def test_a_path_walked_back_and_forth_is_itself() -> None:
    path = DOWN_AND_AWAY.edge(5.0)
    assert reverse(reverse(path)) == path
    assert np.allclose(flattened(reverse(path)), flattened(path)[::-1])


def current(*corners: Point, width: float = 20.0) -> Current:
    first, *others = corners
    return Current((("M", *first), *(("L", *one) for one in others)), width, "load", "generator")


@pytest.mark.parametrize(
    ("to", "way"), [((400.0, 0.0), (1, 0)), ((-400.0, 0.0), (-1, 0)), ((0.0, 400.0), (0, 1))]
)
def test_chevrons_point_downstream(to: Point, way: tuple[int, int]) -> None:
    found = list(chevrons(current((0.0, 0.0), to), 16.0))
    assert len(found) >= 3
    for wing, tip, other in found:
        ahead = (tip[0] - (wing[0] + other[0]) / 2, tip[1] - (wing[1] + other[1]) / 2)
        assert ahead[0] * way[0] + ahead[1] * way[1] == pytest.approx(math.hypot(*ahead))


def test_a_whole_phase_brings_chevrons_back() -> None:
    line = current((0.0, 0.0), (400.0, 0.0))
    start, half, whole = ([tip for _, tip, _ in chevrons(line, 16.0, phase)] for phase in (0.0, 0.5, 1.0))
    assert np.allclose(sorted(start), sorted(whole))
    assert start != half


def test_chevrons_stay_within_their_channel_lengthwise() -> None:
    line = current((0.0, 0.0), (123.0, 0.0), width=60.0)
    for phase in range(20):
        for corners in chevrons(line, 16.0, phase / 20):
            assert all(0 <= x <= 123 for x, _ in corners)
    assert list(chevrons(current((0.0, 0.0), (3.0, 0.0)), 16.0)) == []


def test_bounds_of_a_bend() -> None:
    box = bounds(Course((0.0, 10.0), EAST, (Turn(True, 10.0),)).edge(0.0))
    assert (box.left, box.top, box.right, box.bottom) == pytest.approx((0, 10, 10, 20))
