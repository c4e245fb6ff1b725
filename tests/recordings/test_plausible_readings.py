"""Readings that contradict the header: codes for "no reading", states, shares, impossible values, half a story."""

import numpy as np
import pytest
from tables_help import values

from recordings.errors import UnclearColumnsError
from recordings.tables import ColumnRule


def table(header: str, *rows: str) -> str:
    stamps = (f"2026-02-14T10:{row // 60:02d}:{row % 60:02d}Z" for row in range(len(rows)))
    return f"time;{header}\n" + "".join(f"{stamp};{row}\n" for stamp, row in zip(stamps, rows, strict=True))


@pytest.mark.parametrize("code", ["65535", "-32768", "32767", "4294967295", "-2147483648"])
def test_the_code_for_no_reading_is_missing(read, code):
    recording = read(table("Load [W];PV [W]", "300;10", f"{code};20", "310;30"))
    assert values(recording, "load_power") == [300, None, 310]
    assert any("taken as missing" in note for note in recording.provenance.repairs.notes)


def test_a_scaled_code_for_no_reading_is_missing(read):
    recording = read(table("Load [kW];Battery voltage [V]", "0.3;52.1", "65.535;655.35", "0.31;52.2"))
    assert values(recording, "battery_voltage") == [52.1, None, 52.2]
    assert values(recording, "load_power") == pytest.approx([300, 65535, 310])


def test_a_reading_that_others_come_near_is_no_code(read):
    recording = read(table("Load [W]", "32767", "32766", "30000"))
    assert values(recording, "load_power") == [32767, 32766, 30000]
    assert recording.provenance.repairs.notes[1:] == []


def test_a_few_impossible_readings_are_missing_and_counted(read):
    rows = [f"{300 + row};52" for row in range(30)]
    rows[7] = "12345678;52"
    recording = read(table("Load [W];Battery voltage [V]", *rows))
    assert values(recording, "load_power")[6:9] == [306, None, 308]
    assert recording.provenance.repairs.bad_cells == 1
    assert any("such as 1.23457e+07 W" in note for note in recording.provenance.repairs.notes)


def test_a_power_that_is_impossible_throughout_is_a_question(read):
    text = table("Load [kW]", *["1500"] * 10)
    with pytest.raises(UnclearColumnsError, match=r'column = "Load \[kW\]", unit = "W"'):
        read(text)
    recording = read(text, rules={"load_power": ColumnRule("Load [kW]", unit="W")})
    assert values(recording, "load_power") == [1500] * 10


def test_another_channel_that_is_impossible_throughout_is_left_out(read):
    recording = read(table("Load [W];Battery voltage", *["300;52100"] * 10))
    assert recording.channels == ("load_power",)
    assert recording.provenance.ignored == ["Battery voltage"]
    assert any("left out: check its unit" in note for note in recording.provenance.repairs.notes)


@pytest.mark.parametrize(
    ("header", "cells"),
    [
        ("Generator", ["0", "1", "1", "0"]),
        ("Generator", ["0", "3", "9", "2"]),
        ("Battery", ["52.1", "52.2", "52.3", "52.3"]),
        ("Generator load", ["0", "54", "61", "20"]),
    ],
)
def test_a_column_without_a_unit_that_may_be_something_else_is_left_out(read, header, cells):
    recording = read(table(f"House [W];{header}", *(f"300;{cell}" for cell in cells)))
    assert recording.channels == ("load_power",)
    assert recording.provenance.ignored == [header]
    assert any(f'"{header}" was left out' in note for note in recording.provenance.repairs.notes)


@pytest.mark.parametrize(("header", "running"), [("Generator", 231), ("Grid", 49.9), ("Generator", 118.5)])
def test_a_column_without_a_unit_that_looks_like_volts_or_hertz_is_left_out_and_said(read, header, running):
    rows = [f"300;{running + row % 3 if row > 5 else 0}" for row in range(40)]
    recording = read(table(f"House [W];{header}", *rows))
    assert recording.channels == ("load_power",)
    assert recording.provenance.unclear == [header]
    assert any("as voltages and frequencies do" in note for note in recording.provenance.repairs.notes)


def test_plain_powers_without_a_unit_are_read(read):
    recording = read(table("House;Generator;Battery", "300;0;-310", "305;4000;3500"))
    assert values(recording, "generator_power") == [0, 4000]
    assert values(recording, "battery_power") == [-310, 3500]


@pytest.mark.parametrize("cells", [["2", "5", "0"], ["12", "25", "30"]])
def test_small_whole_powers_without_a_unit_are_a_question(read, cells):
    with pytest.raises(UnclearColumnsError, match=r'"House" gives no unit.*\[columns\] load_power'):
        read(table("House", *cells))


def test_on_and_off_are_no_power(read):
    recording = read(table("House [W];Generator;Generator power [W]", "300;off;0", "305;on;4000"))
    assert values(recording, "generator_power") == [0, 4000]
    assert read(table("House [W];Generator", "300;off", "305;on")).channels == ("load_power",)


def test_a_state_of_charge_from_0_to_1_is_a_share(read):
    recording = read(table("House [W];SOC", "300;0.27", "300;0.5", "300;1.0"))
    assert values(recording, "battery_soc") == [27, 50, 100]
    recording = read(table("House [W];SOC [%]", "300;0", "300;1", "300;1"))
    assert values(recording, "battery_soc") == [0, 1, 1]


def test_a_battery_of_which_only_charging_is_recorded_is_unknown_while_that_is_nothing(read):
    recording = read(table("House [W];Battery charge power [W]", "300;500", "300;0", "300;20"))
    assert values(recording, "battery_power") == [500, None, 20]
    assert any("one direction only" in note for note in recording.provenance.repairs.notes)
    recording = read(table("House [W];Battery charge power [W]", "300;500", "300;0", "300;-20"))
    assert values(recording, "battery_power") == [500, 0, -20]


def test_a_grid_of_which_only_import_is_recorded_exports_nothing_and_says_so(read):
    recording = read(table("House [W];Grid import [W]", "300;500", "300;0"))
    assert values(recording, "grid_power") == [500, 0]
    assert any("export is taken as none" in note for note in recording.provenance.repairs.notes)


def test_the_direction_that_does_not_flow_may_be_blank(read):
    recording = read(table("Charge power [W];Discharge power [W]", "500;", ";300", ";", "0;0"))
    assert values(recording, "battery_power") == [500, -300, None, 0]


SUN = [500 + 400 * np.sin(row / 5) for row in range(60)]


def test_one_sun_before_and_after_its_inverter_is_a_question(read):
    text = table("PV DC power [W];PV AC power [W]", *(f"{sun:.0f};{0.96 * sun:.0f}" for sun in SUN))
    with pytest.raises(UnclearColumnsError, match="rise and fall together"):
        read(text)
    assert read(text, rules={"solar_power": ColumnRule("")}).channels == ("solar_ac_power",)
    both = {"solar_power": ColumnRule("PV DC power [W]"), "solar_ac_power": ColumnRule("PV AC power [W]")}
    assert read(text, rules=both).channels == ("solar_power", "solar_ac_power")


def test_two_suns_are_two(read):
    rows = [f"{sun:.0f};{0.5 * sun + 3 * row:.0f}" for row, sun in enumerate(SUN)]
    assert read(table("PV DC power [W];PV AC power [W]", *rows)).channels == ("solar_power", "solar_ac_power")


def test_columns_without_any_reading_are_no_recording(read):
    with pytest.raises(UnclearColumnsError, match="no column of power holds a reading"):
        read(table("Generator power [W];Load [W]", "NaN;", ";NaN", ";"))


def test_volts_and_amperes_are_enough(read):
    recording = read(table("Battery voltage [V];Battery current [A]", "52;10", "52;11"))
    assert recording.channels == ("battery_voltage", "battery_current")
    recording = read(table("Generator voltage L1 [V];Generator current L1 [A]", "230;10", "230;11"))
    assert recording.channels == ("generator_voltage_l1", "generator_current_l1")


def test_counters_of_energy_are_no_powers_and_the_refusal_says_so(read):
    with pytest.raises(UnclearColumnsError, match=r"only counters of energy.*powers in W or kW"):
        read(table("Generator [kWh];Load energy [Wh]", "1;2", "2;3"))
