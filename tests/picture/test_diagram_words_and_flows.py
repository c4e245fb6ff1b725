"""Whose water flows where, and what is written beside it."""

import math
from dataclasses import replace

import pytest
from diagram_moments import plain_measure

from desktop.picture.diagram import Picture, layout
from desktop.picture.diagram.examples import example, examples
from desktop.picture.diagram.flows import flows
from desktop.picture.diagram.shapes import Area
from desktop.review.moment import GapNow, LimitNow, Moment
from desktop.words import Phrase


def drawn(moment: Moment, width: int = 1100, height: int = 600) -> Picture:
    return layout(moment, width, height, plain_measure(1.0))


def texts_of(picture: Picture, stream: str) -> list[str]:
    return [text.text for text in picture.texts if text.of == stream]


def bands(moment: Moment, stream: str) -> dict[str, float]:
    return {source: pytest.approx(watts) for source, watts in flows(moment)[stream].bands}


def test_charging_passes_the_converter_with_its_losses_on_the_ac_side() -> None:
    moment = examples()["everything"]
    assert bands(moment, "converter_ac") == {"generator": 2200 + 200 + 210, "solar_ac": 730 + 66 + 70}
    assert bands(moment, "converter_dc") == {"generator": 2200 + 200, "solar_ac": 730 + 66}
    assert bands(moment, "loss") == {"generator": 210.0, "solar_ac": 70.0}


def test_inverting_passes_the_converter_with_its_losses_on_the_dc_side() -> None:
    moment = examples()["export"]
    assert bands(moment, "converter_dc") == {"solar": 500 + 1100 + 130}
    assert bands(moment, "converter_ac") == {"solar": 500 + 1100}
    assert bands(moment, "grid") == {"solar_ac": 1600.0, "solar": 1100.0}


def test_bands_lie_as_the_sources_lie() -> None:
    order = [source for source, _ in flows(examples()["everything"])["battery"].bands]
    assert order == ["generator", "solar_ac", "solar"]


def test_water_of_unknown_origin_is_not_given_a_source() -> None:
    moment = examples()["unknown"]
    assert [source for source, _ in flows(moment)["battery"].bands] == ["mixed"]
    assert [source for source, _ in flows(moment)["generator"].bands] == ["generator"]


def test_directions_follow_the_signs() -> None:
    night, day = flows(examples()["night"]), flows(examples()["charging"])
    assert not night["battery"].forward
    assert not night["converter_ac"].forward
    assert day["battery"].forward
    assert not flows(examples()["export"])["grid"].forward


def test_chevrons_run_from_the_battery_at_night() -> None:
    picture = drawn(examples()["night"])
    (battery,) = (one for one in picture.currents if one.stream == "battery")
    start, end = battery.path[0][1], battery.path[-1][1]
    assert end < start


def test_overflow_lies_above_the_gate() -> None:
    picture = drawn(examples()["over-limit"])
    (over,) = (area for area in picture.areas if area.kind == "overflow")
    assert over.role == "overflow"
    assert over.watts == pytest.approx(6230 - 25 * 230)
    (level,) = (line for line in picture.lines if line.kind == "gate" and line.dash)
    assert over.path[-2][-1] == pytest.approx(level.path[0][-1])
    assert any("27.1 A on a 25.0 A limit" in text for text in texts_of(picture, "generator"))
    assert {mark.severity for mark in picture.marks} == {"act now"}


def test_what_is_within_its_limit_is_no_overflow() -> None:
    for name in ("charging", "night", "sunny", "everything", "export"):
        picture = drawn(examples()[name])
        assert not picture.marks
        assert not any(area.kind == "overflow" for area in picture.areas)


def test_a_charge_over_its_limit_overflows_the_battery_channel() -> None:
    over = LimitNow("charge_current", Phrase("Charge current"), 130.0, None, 100.0, 0.0, 125.0, "A", "over")
    moment = example({("solar", "battery"): 6900.0}, rated={"battery": 5300.0, "solar": 7000.0})
    picture = drawn(replace(moment, limits=(over,)))
    (area,) = (area for area in picture.areas if area.kind == "overflow")
    assert (area.stream, area.watts) == ("battery", pytest.approx(1600.0))


def test_unequal_legs_have_a_bed_and_a_gate_each() -> None:
    picture = drawn(examples()["split-phase"])
    beds = [area for area in picture.areas if area.kind == "bed" and area.stream == "generator"]
    assert [bed.watts for bed in beds] == [3500.0, 3500.0]
    levels = [line for line in picture.lines if line.kind == "gate" and line.dash]
    assert len(levels) == 2
    assert [leg for leg in ("L1", "L2") if leg in texts_of(picture, "generator")] == ["L1", "L2"]
    upper = sum(area.watts for area in picture.areas if area.stream == "generator" and _at(area, beds[0]))
    assert upper == pytest.approx(3500 + 5000 * 31.5 / (31.5 + 10.2))


def _at(area: Area, bed: Area) -> bool:
    return area.path[-2][-1] <= bed.path[-2][-1] + 1e-6


def test_what_is_not_known_is_said() -> None:
    picture = drawn(examples()["unknown"])
    assert "not known" in texts_of(picture, "solar")
    assert "not known" in texts_of(picture, "load")
    assert "0 W" not in texts_of(picture, "solar")
    assert "not known" in texts_of(picture, "battery")


def test_a_stopped_generator_and_a_resting_battery_are_said() -> None:
    picture = drawn(examples()["standing-still"])
    assert any(text.startswith("stopped") for text in texts_of(picture, "generator"))
    assert any(text.startswith("at rest") for text in texts_of(picture, "battery"))
    assert picture.currents == ()


def test_what_is_worked_out_says_so() -> None:
    assert "worked out" in " ".join(texts_of(drawn(examples()["worked-out"]), "load"))


def test_stale_moments_say_so_and_stand_still() -> None:
    picture = drawn(examples()["stale"])
    assert picture.stale
    assert picture.currents == ()
    assert texts_of(picture, "balance") == ["No readings for this time: the last ones are shown"]


def test_balance_is_quiet_when_it_is_kept_and_a_stub_when_not() -> None:
    kept = drawn(examples()["charging"])
    assert texts_of(kept, "balance") == ["In balance (−0.02 ± 0.11 kW unaccounted)"]
    missing = drawn(examples()["unaccounted"])
    assert texts_of(missing, "balance") == []
    assert texts_of(missing, "ac")[0] == "0.62 ± 0.09 kW goes missing"
    assert texts_of(missing, "dc")[0] == "0.41 ± 0.07 kW more leaves than enters"
    arrows = {
        one.stream: one.path[-1][1] - one.path[0][1]
        for one in missing.currents
        if one.source == "unaccounted"
    }
    assert arrows["ac"] < 0 < arrows["dc"]


def test_a_wide_stub_shows_its_uncertainty_to_scale() -> None:
    moment = example({("generator", "load"): 4000.0}, gaps=(GapNow("ac", 2500.0, 400.0, True),))
    picture = drawn(moment)
    whisker = next(line for line in picture.lines if line.kind == "spread")
    assert whisker.path[1][-1] - whisker.path[0][-1] == pytest.approx(2 * 400.0 * picture.scale)


@pytest.mark.parametrize("soc", [0.0, 3.0, 19.0, 20.0, 21.0, 50.0, 79.0, 80.0, 81.0, 97.0, 100.0])
def test_the_level_is_the_state_of_charge(soc: float) -> None:
    picture = drawn(example({("solar", "battery"): 900.0}, soc=soc))
    tank = next(area for area in picture.areas if area.kind == "reservoir")
    stored = [area for area in picture.areas if area.kind == "stored"]
    full = tank.path[2][-1] - tank.path[0][-1]
    high = stored[0].path[2][-1] - stored[0].path[0][-1] if stored else 0.0
    assert high == pytest.approx(full * soc / 100)
    assert f"{soc:.0f} %" in texts_of(picture, "battery")


@pytest.mark.parametrize("size", [(640, 360), (846, 242), (885, 345), (1400, 800)])
def test_the_state_of_charge_is_told_on_every_page(size: tuple[int, int]) -> None:
    for name in ("everything", "charging", "sunny"):
        for soc in range(0, 101, 5):
            moment = examples()[name]
            picture = drawn(replace(moment, battery=replace(moment.battery, soc=float(soc))), *size)
            assert any(f"{soc} %" in text for text in texts_of(picture, "battery")), (name, soc)


def test_a_rating_that_nobody_gave_is_called_about() -> None:
    moment = example({("generator", "load"): 900.0})
    streams = {**moment.streams, "load": replace(moment.streams["load"], rated=None)}
    assert any(
        text.startswith("of about") for text in texts_of(drawn(replace(moment, streams=streams)), "load")
    )


def test_an_empty_recording_has_a_picture() -> None:
    picture = drawn(examples()["empty"])
    assert texts_of(picture, "balance") == ["No readings yet"]
    assert not any(area.kind == "water" for area in picture.areas)


def test_details_give_way_before_names_and_values() -> None:
    large, small = (drawn(examples()["everything"], *size) for size in ((1400, 800), (560, 360)))
    assert len(small.texts) < len(large.texts)
    for stream in ("grid", "generator", "solar_ac", "solar", "load", "dc_load", "battery"):
        assert set(_name_and_value(large, stream)) <= set(texts_of(small, stream))


def _name_and_value(picture: Picture, stream: str) -> list[str]:
    return [
        text.text for text in picture.texts if text.of == stream and text.bold and text.ground == "ground"
    ]


def test_no_value_is_ever_cut() -> None:
    for name, moment in examples().items():
        for width, height in ((560, 360), (640, 400), (920, 440)):
            picture = layout(moment, width, height, plain_measure(2.0))
            cut = [text.text for text in picture.texts if "…" in text.text]
            assert not any(any(sign.isdigit() for sign in text) for text in cut), (name, cut)
            assert math.isfinite(picture.scale)


def test_a_balance_that_a_load_step_hides_is_said_to_be_hidden() -> None:
    moment = examples()["charging"]
    torn = replace(moment, gaps=tuple(replace(gap, value=-190.0, sd=4_200.0) for gap in moment.gaps))
    assert texts_of(drawn(torn), "balance") == ["The powers change too fast to be compared"]
