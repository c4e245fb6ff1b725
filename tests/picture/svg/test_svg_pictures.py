"""Pictures as SVG: well-formed, everything that is to be seen in them, and no markup out of texts."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desktop.opening import demos, open_recording
from desktop.picture.diagram.examples import examples
from desktop.picture.palette import THEMES
from desktop.picture.svg.diagram import diagram_svg
from desktop.picture.svg.elements import coordinate, text_at
from desktop.picture.svg.letters import text_width
from desktop.picture.svg.trends import trends_svg
from desktop.picture.trends.of_review import trends_of
from desktop.review import review

SVG = "{http://www.w3.org/2000/svg}"


def texts(svg: str) -> list[str]:
    return [each.text or "" for each in ElementTree.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("theme", sorted(THEMES))
@pytest.mark.parametrize("name", sorted(examples()))
def test_every_state_of_the_diagram_is_well_formed_and_inside_its_page(name, theme):
    svg = diagram_svg(examples()[name], "Flow & more", theme=theme)
    root = ElementTree.fromstring(svg)
    assert root.find(f"{SVG}title").text == "Flow & more"
    wide, high = map(float, root.get("viewBox").split()[2:])
    for each in root.iter(f"{SVG}text"):
        assert 0 <= float(each.get("y")) <= high
        assert -1 <= float(each.get("x")) <= wide + 1
    used = set(re.findall(r"url\(#([^)]+)\)", svg))
    made = [each.get("id") for each in root.iter(f"{SVG}pattern")]
    assert used == set(made)
    assert len(made) == len(set(made))


def test_two_pictures_on_a_page_share_no_names():
    moment = next(iter(examples().values()))
    ids = [re.findall(r' id="([^"]+)"', diagram_svg(moment, "", name=name)) for name in ("a", "b")]
    assert not set(ids[0]) & set(ids[1])


def test_trends_show_each_pane_its_curves_limits_and_findings():
    recording, site = open_recording(next(each.path for each in demos() if "load-step" in each.path.name))
    found = review(recording, site)
    source = trends_of(found)
    svg = trends_svg(source, "Trends", at=[found.findings[0].start])
    told = " ".join(texts(svg))
    for pane in {series.pane for series in source.series if series.shown}:
        title = next(str(each.title) for each in source.panes if each.key == pane)
        assert title in told
    assert "input limit" in told
    assert "13:40" in told
    assert "11 Feb 2025" in told


def test_a_part_of_the_time_can_be_shown():
    recording, site = open_recording(next(each.path for each in demos() if "load-step" in each.path.name))
    source = trends_of(review(recording, site))
    first = int(recording.time[100])
    svg = trends_svg(source, "A minute", between=(first, first + 60_000_000_000))
    assert any(re.fullmatch(r"\d\d:\d\d:\d\d", each) for each in texts(svg))
    ElementTree.fromstring(svg)


@given(st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=40))
def test_texts_stay_texts(text):
    svg = f'<svg xmlns="http://www.w3.org/2000/svg">{text_at(text, 1.0, 2.0, "#000")}</svg>'
    try:
        root = ElementTree.fromstring(svg)
    except ElementTree.ParseError:
        # XML can't carry some code points at all.
        assert any(ord(letter) in (0xFFFE, 0xFFFF) or ord(letter) & 0xFFFE == 0xFFFE for letter in text)
        return
    (only,) = list(root)
    assert (only.text or "") == text
    assert len(list(only)) == 0


def test_widths_are_those_of_the_common_sans_serif():
    """Advance widths of Helvetica (quoted from memory): H 722, digits 556, i 222 of 1000."""
    assert text_width("Hi0") == pytest.approx(13 * (0.722 + 0.222 + 0.556))
    assert text_width("abc", 2.0, bold=True) > 2 * text_width("abc")


@given(st.floats(-1e6, 1e6))
def test_coordinates_are_short_and_true(value):
    assert float(coordinate(value)) == pytest.approx(value, abs=0.0051)
    assert len(coordinate(value)) <= 11
