"""Names of level lines: none covers another, a line or a curve, wherever lines lie and however large letters."""

from __future__ import annotations

from itertools import combinations
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desktop import languages
from desktop.opening import demos, open_recording
from desktop.picture.svg.letters import EM_PX, text_width
from desktop.picture.svg.trends import trends_svg
from desktop.picture.trends.labels import Box, Head, Level, name_spots
from desktop.picture.trends.of_review import trends_of
from desktop.review import review

SVG = "{http://www.w3.org/2000/svg}"
PLOT = Box(60.0, 40.0, 760.0, 200.0)
HEAD_ROW = (20.0, 38.0)

levels_drawn = st.lists(
    st.builds(Level, st.floats(PLOT.top, PLOT.bottom), st.floats(10, 300)), min_size=1, max_size=5
)
curves_drawn = st.lists(
    st.builds(
        lambda left, top, wide, tall: Box(left, top, left + wide, top + tall),
        st.floats(60, 700),
        st.floats(40, 190),
        st.floats(1, 500),
        st.floats(1, 60),
    ),
    max_size=4,
)


def boxes(levels: list[Level], tall: float, head: Head, spots: list) -> list[Box]:
    """Where the letters of each name are, and the dashes before those in the head."""
    found = []
    for level, spot in zip(levels, spots, strict=True):
        if spot is None:
            continue
        if spot.bottom is None:
            found.append(Box(spot.left - head.swatch, HEAD_ROW[0], spot.left + level.width, HEAD_ROW[1]))
        else:
            found.append(Box(spot.left, spot.bottom - tall, spot.left + level.width, spot.bottom))
    return found


@given(levels_drawn, st.floats(6, 60), curves_drawn, st.floats(60, 760), st.booleans())
def test_no_name_covers_another_nor_a_line_nor_a_curve(levels, tall, curves, least, at_worst):
    head = Head(least, PLOT.right, 13.0)
    spots = name_spots(
        levels,
        PLOT,
        tall,
        lambda place: any(map(place.meets, curves)),
        head,
        at_worst=at_worst,
    )
    found = boxes(levels, tall, head, spots)
    for one, other in combinations(found, 2):
        assert not one.meets(other)
    for box in found:
        if box.bottom <= HEAD_ROW[1]:
            assert box.left >= least
            assert box.right <= PLOT.right + 1e-6
            continue
        assert PLOT.holds(box)
        assert not any(
            PLOT.top <= level.y <= PLOT.bottom and box.top < level.y < box.bottom for level in levels
        )
        assert at_worst or not any(map(box.meets, curves))


def test_two_lines_that_lie_close_have_their_names_on_either_side():
    close = [Level(100.0, 80.0), Level(104.0, 120.0)]
    upper, lower = name_spots(close, PLOT, 10.0, lambda place: False, Head(100.0, 760.0, 13.0))
    assert upper.bottom < 100 < 104 < lower.bottom - 10.0


def test_a_name_that_finds_no_room_beside_its_line_stands_in_the_head_else_at_worst_over_curves():
    levels = [Level(100.0, 80.0)]

    def covered(place: Box) -> bool:
        return True

    assert name_spots(levels, PLOT, 10.0, covered, Head(100.0, 760.0, 13.0))[0].bottom is None
    assert name_spots(levels, PLOT, 10.0, covered, Head(700.0, 760.0, 13.0)) == [None]
    assert (
        name_spots(levels, PLOT, 10.0, covered, Head(700.0, 760.0, 13.0), at_worst=True)[0].bottom is not None
    )


@pytest.fixture(scope="module")
def sources():
    """Trends of plants with several limits."""
    names = ("limit-too-high", "unequal-legs", "lead-acid-absorption", "grid-failure")
    paths = [each.path for each in demos() if each.path.stem in names]
    return [trends_of(review(*open_recording(path))) for path in paths]


def text_boxes(svg: str) -> list[tuple[str, Box]]:
    """Every text, and where its letters are."""
    found = []
    for each in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        x, y, size = (float(each.get(name)) for name in ("x", "y", "font-size"))
        wide = float(each.get("textLength"))
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[each.get("text-anchor")]
        found.append((each.text, Box(left, y - 0.75 * size, left + wide, y + 0.2 * size)))
    return found


@pytest.mark.parametrize("language", ["en", *sorted(languages.NAMES.keys() - {"en"})])
@pytest.mark.parametrize("tall", [40.0, 88.0, 130.0])
def test_no_text_of_a_picture_covers_another(sources, language, tall):
    try:
        languages.use(language)
        pictures = [
            trends_svg(source, "Trends", pane_height=tall, at=[int(source.time[len(source.time) // 2])])
            for source in sources
        ]
    finally:
        languages.use("en")
    for svg in pictures:
        wide = float(ElementTree.fromstring(svg).get("viewBox").split()[2])
        texts = text_boxes(svg)
        for (one, box), (other, its) in combinations(texts, 2):
            assert not box.meets(its), f"{one} covers {other}"
        for text, box in texts:
            assert box.left >= 0, text
            assert box.right <= wide + 0.02, text


def test_every_limit_of_a_picture_is_named(sources):
    for source in sources:
        shown = {series.pane for series in source.series if series.shown}
        told = [text for text, _ in text_boxes(trends_svg(source, "Trends", pane_height=88.0))]
        for limit in source.limits:
            assert limit.pane not in shown or str(limit.name) in told


def test_letters_are_as_wide_as_reckoned(sources):
    svg = trends_svg(sources[0], "Trends")
    for each in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        bold = each.get("font-weight") == "bold"
        size = float(each.get("font-size")) / EM_PX
        assert float(each.get("textLength")) == pytest.approx(text_width(each.text, size, bold), abs=0.1)
