"""Colours: contrast by WCAG 2.2, and told apart without telling red from green.

The matrices for simulated deuteranopia and protanopia (severity 1.0) are those of Machado, Oliveira &
Fernandes 2009, "A physiologically-based model for simulation of color vision deficiency", quoted from memory.
Distances are CIE 1976 ΔE*ab (D65).
"""

import itertools

import numpy as np
import pytest
from colour_vision import VISION, WHITE, XYZ

from desktop.picture.palette import SEVERE, TEXT_ON, THEMES, WATERS, Theme, contrast, linear

BOTH_THEMES = pytest.mark.parametrize("theme", THEMES.values(), ids=lambda theme: theme.name)


def lab(colour: str, vision: str) -> np.ndarray:
    seen = np.clip(VISION[vision] @ np.array(linear(colour)), 0, 1)
    share = XYZ @ seen / WHITE
    f = np.where(share > 216 / 24389, np.cbrt(share), (24389 / 27 * share + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def distance(one: str, other: str, vision: str) -> float:
    return float(np.linalg.norm(lab(one, vision) - lab(other, vision)))


def test_contrast_by_known_values() -> None:
    # WCAG 2.2: black on white is 21 to 1; #767676 is the lightest grey that passes 4.5 on white (common knowledge).
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)
    assert contrast("#336699", "#336699") == 1.0


@BOTH_THEMES
@pytest.mark.parametrize(("text", "ground"), [*TEXT_ON, ("unaccounted", "ground")])
def test_every_text_stands_out_from_its_ground(theme: Theme, text: str, ground: str) -> None:
    assert contrast(theme[text], theme[ground]) >= 4.5


@BOTH_THEMES
@pytest.mark.parametrize("vision", VISION)
def test_waters_are_told_apart(theme: Theme, vision: str) -> None:
    told = ("generator", "grid", "solar", "battery")
    for one, other in itertools.combinations(told, 2):
        assert distance(theme[one], theme[other], vision) >= 18, (one, other)


@BOTH_THEMES
@pytest.mark.parametrize("vision", VISION)
def test_what_runs_over_is_told_from_every_water(theme: Theme, vision: str) -> None:
    for water in ("generator", "grid", "solar", "solar_ac", "battery"):
        assert distance(theme["overflow"], theme[water], vision) >= 18, water


@BOTH_THEMES
@pytest.mark.parametrize("vision", VISION)
def test_water_is_told_from_its_bed(theme: Theme, vision: str) -> None:
    for water in WATERS:
        assert distance(theme[water], theme["bed"], vision) >= 18, water


@BOTH_THEMES
def test_lines_that_carry_meaning_have_three_to_one(theme: Theme) -> None:
    """WCAG 2.2, 1.4.11: the surface of water on its bed, bars, gates and unknown channels on the ground."""
    assert contrast(theme["bar"], theme["ground"]) >= 3
    assert contrast(theme["unknown"], theme["ground"]) >= 3
    for water in WATERS:
        assert contrast(theme.edge(water), theme["bed"]) >= 3, water
        assert contrast(theme.ink(water), theme[water]) >= 3, water


@BOTH_THEMES
def test_only_what_is_abnormal_is_saturated(theme: Theme) -> None:
    def chroma(role: str) -> float:
        return float(np.hypot(*lab(theme[role], "usual")[1:]))

    loudest_water = max(chroma(role) for role in WATERS)
    assert min(chroma("act now"), chroma("overflow")) > loudest_water
    assert all(chroma(role) < 8 for role in ("ground", "panel", "bed", "rim", "text", "muted"))


def test_both_themes_have_the_same_roles() -> None:
    light, dark = (set(theme.colours) for theme in THEMES.values())
    assert light == dark
    assert {*WATERS, *SEVERE, *(role for pair in TEXT_ON for role in pair)} <= light


def test_mixed_colours() -> None:
    theme = THEMES["light"]
    assert theme.mixed("text", 1.0) == theme["text"]
    assert theme.mixed("text", 0.0, "bed") == theme["bed"]
