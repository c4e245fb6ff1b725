"""What feeds the AC input of an inverter-charger: told by rules, frequency, sheet or words; else it is asked."""

from pathlib import Path

import numpy as np
import pytest
from tables_help import values

import recordings
from recordings.errors import UnclearColumnsError
from recordings.tables import ColumnRule, inspect_table, read_table

DEMO = Path(recordings.__file__).parent / "demo"
RENAMED = {
    "generator_power [W]": "AC IN W",
    "generator_current [A]": "AC IN A",
    "generator_voltage [V]": "AC IN V",
    "generator_frequency [Hz]": "AC IN Hz",
    "load_power [W]": "AC OUT W",
    "battery_power [W]": "Bank W",
    "battery_voltage [V]": "Bank V",
    "battery_soc [%]": "Bank %",
}


def renamed(tmp_path, name):
    """A demo without a sheet, under generic headers."""
    lines = (DEMO / f"{name}.csv").read_text().splitlines()
    header = ",".join(RENAMED.get(each, each) for each in lines[0].split(","))
    path = tmp_path / "log.csv"
    path.write_text("\n".join([header, *lines[1:]]) + "\n")
    return path


def table(headers, *columns, step_s=60):
    """Rows of columns, every `step_s` seconds."""
    start = np.datetime64("2026-02-14T00:00:00")
    lines = ["time;" + ";".join(headers)]
    for row, cells in enumerate(zip(*columns, strict=True)):
        stamp = start + np.timedelta64(row * step_s, "s")
        lines.append(f"{stamp}Z;" + ";".join(f"{cell:.5g}" for cell in cells))
    return "\n".join(lines) + "\n"


ROWS = 900
NOISE = np.random.default_rng(5).normal(size=ROWS)
LOAD = np.full(ROWS, 300.0)
FLOW = np.where(np.arange(ROWS) % 300 < 150, 0.0, 2000.0)
GRID_HZ = 50 + 0.03 * NOISE
GENERATOR_HZ = np.where(FLOW > 0, 50.5 + 0.4 * NOISE, 0.0)
FAILING_HZ = np.where(FLOW > 0, GRID_HZ, 0.0)
HEADERS = ["AC in [W]", "AC in [A]", "AC in [Hz]", "Load [W]"]


def plant(hz):
    return table(HEADERS, FLOW, FLOW / 230, hz, LOAD)


@pytest.mark.parametrize("name", ["limit-too-high", "load-step", "healthy-charge", "lead-acid-absorption"])
def test_a_demo_under_generic_headers_is_read_as_it_is(tmp_path, name):
    recording, demo = read_table(renamed(tmp_path, name)), read_table(DEMO / f"{name}.csv")
    assert recording.channels == demo.channels
    for channel in demo.channels:
        np.testing.assert_array_equal(recording.column(channel), demo.column(channel))
    assert "its frequency wanders and is 0 at times" in recording.provenance.columns["generator_power"].how
    assert recording.provenance.unclear == []


def test_a_frequency_that_wanders_is_a_generator_s(read):
    recording = read(plant(GENERATOR_HZ))
    assert recording.channels == ("generator_power", "generator_current", "generator_frequency", "load_power")


def test_a_frequency_that_is_steady_and_always_there_is_the_grid_s(read):
    recording = read(plant(GRID_HZ))
    assert recording.channels == ("grid_power", "load_power")
    assert "steady and always there" in recording.provenance.columns["grid_power"].how
    assert recording.provenance.ignored == ["AC in [A]", "AC in [Hz]"]
    assert recording.provenance.unclear == []


@pytest.mark.parametrize(
    "text",
    [
        plant(FAILING_HZ),
        table(HEADERS, FLOW, FLOW / 230, GRID_HZ, LOAD, step_s=10),
        table(["AC in [W]", "Load [W]"], FLOW, LOAD),
        table(["Grid/Gen In (W)", "Load [W]"], FLOW, LOAD),
        table(["Netz-/Generatoreingang [W]", "Last [W]"], FLOW, LOAD),
        table(["AC in 1 [W]", "AC in 2 [W]", "Load [W]", "Generator state"], FLOW, FLOW, LOAD, LOAD),
        table(["AC in [W]", "Load [W]", "Generator state", "Grid state"], FLOW, LOAD, LOAD, LOAD),
    ],
    ids=["fails or rests", "too short", "no frequency", "either", "German", "two inputs", "both spoken of"],
)
def test_what_can_t_be_told_is_asked(read, text):
    with pytest.raises(UnclearColumnsError, match=r"of an AC input, which may be the generator or the grid"):
        read(text)


def test_the_question_names_the_rule_and_the_rule_answers_all(read, tmp_path):
    text = plant(FAILING_HZ)
    with pytest.raises(UnclearColumnsError) as asked:
        read(text)
    line = str(asked.value)
    assert (
        '[columns] generator_power = { column = "AC in [W]" }, or grid_power = { column = "AC in [W]" }'
        in line
    )
    assert 'columns "AC in [W]", "AC in [A]" and "AC in [Hz]" are' in line
    generator = read(text, rules={"generator_power": ColumnRule("AC in [W]")})
    assert generator.channels == ("generator_power", "generator_current", "generator_frequency", "load_power")
    grid = read(text, rules={"grid_power": ColumnRule("AC in [W]")})
    assert grid.channels == ("grid_power", "load_power")
    seen = inspect_table(tmp_path / "day.csv")
    assert seen.unsettled == ("generator_power", "generator_current", "generator_frequency")
    assert [each.channel for each in seen.columns] == ["", "", "", "load_power"]
    assert inspect_table(tmp_path / "day.csv", ac_input="generator").problem == ""


def test_the_site_sheet_answers(read):
    assert "generator_power" in read(plant(FAILING_HZ), ac_input="generator").channels
    assert "grid_power" in read(plant(FAILING_HZ), ac_input="grid").channels


def test_a_sheet_that_the_frequency_contradicts_is_no_answer(read):
    with pytest.raises(UnclearColumnsError, match="generator or the grid"):
        read(plant(GRID_HZ), ac_input="generator")


def test_other_headers_that_speak_of_one_source_answer(read):
    text = table(["AC in [W]", "Load [W]", "Generator state"], FLOW, LOAD, LOAD)
    assert "of which other headers speak" in read(text).provenance.columns["generator_power"].how
    text = table(["AC in [W]", "Load [W]", "Mains voltage [V]"], FLOW, LOAD, LOAD)
    assert read(text).channels == ("grid_power", "load_power")


def test_beside_a_metered_generator_the_ac_input_may_be_the_grid(read):
    with pytest.raises(UnclearColumnsError, match=r"\[columns\] grid_power"):
        read(table(["Generator [W]", "AC in [W]", "Load [W]"], FLOW, FLOW, LOAD))
    recording = read(table(["Generator [W]", "Grid [W]", "AC in [W]", "Load [W]"], FLOW, FLOW, FLOW, LOAD))
    assert recording.channels == ("generator_power", "grid_power", "load_power")
    assert recording.provenance.unclear == ["AC in [W]"]


def test_an_input_without_ac_is_one_where_its_frequency_says_so(read):
    text = table(["Input power (W)", "Input frequency (Hz)", "Load [W]"], FLOW, GENERATOR_HZ, LOAD)
    assert read(text).channels == ("generator_power", "generator_frequency", "load_power")
    recording = read(table(["Input power (W)", "Load [W]"], FLOW, LOAD))
    assert recording.channels == ("load_power",)
    assert recording.provenance.unclear == ["Input power (W)"]


def test_an_input_through_which_nothing_came_is_not_worth_a_question(read):
    recording = read(table(["AC in [W]", "Load [W]"], 0 * FLOW, LOAD))
    assert recording.channels == ("load_power",)


def test_two_numbered_inputs_are_told_apart_by_their_frequencies(read):
    headers = ["AC1 in W", "AC1 in Hz", "AC2 in W", "AC2 in Hz", "Load [W]"]
    recording = read(table(headers, FLOW, GENERATOR_HZ, 0.5 * FLOW, GRID_HZ, LOAD))
    assert recording.channels == ("generator_power", "generator_frequency", "grid_power", "load_power")
    assert recording.provenance.columns["generator_power"].column == "AC1 in W"
    assert values(recording, "grid_power")[200] == 1000


def test_what_looks_like_a_measurement_and_is_not_understood_is_kept(read):
    headers = [
        "Load [W]",
        "X7 [W]",
        "Bus V",
        "hz",
        "Inverter DC voltage [V]",
        "Capacity [%]",
        "UPS output [W]",
        "Inverter AC charge [W]",
        "Cell 3 voltage [V]",
        "Grid voltage [V]",
        "Inv Temp",
        "Generator [kWh]",
    ]
    recording = read(table(headers, *[LOAD] * len(headers)))
    assert recording.channels == ("load_power",)
    assert recording.provenance.unclear == [
        "X7 [W]",
        "Bus V",
        "hz",
        "Inverter DC voltage [V]",
        "Capacity [%]",
        "UPS output [W]",
        "Inverter AC charge [W]",
    ]
    assert len(recording.provenance.ignored) == 11


@pytest.mark.parametrize(
    "rules",
    [
        {"generator_power": ColumnRule("")},
        {"generator_power": ColumnRule("Other [W]")},
        {"grid_power": ColumnRule("")},
    ],
)
def test_who_has_named_either_power_is_not_asked_again_but_told(read, rules):
    headers = ["AC in [W]", "AC in [A]", "Other [W]", "Load [W]"]
    recording = read(table(headers, FLOW, FLOW / 230, FLOW, LOAD), rules=rules)
    assert {"AC in [W]", "AC in [A]"} <= set(recording.provenance.unclear)


def test_a_style_of_writing_in_before_each_unit_is_no_input(read):
    recording = read(table(["Batterie in W", "Last in W", "AC-Out in W"], FLOW, LOAD, LOAD))
    assert "charging is taken as positive" in recording.provenance.columns["battery_power"].how
    recording = read(table(["Grid in W", "Grid out W", "Load out W"], FLOW, LOAD, LOAD))
    assert values(recording, "grid_power")[:1] == [-300]
