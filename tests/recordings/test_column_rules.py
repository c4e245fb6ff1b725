"""What a person says about columns: none for a channel, two directions in two columns, and what stays open."""

import numpy as np
import pytest

from recordings.errors import UnclearColumnsError, UnclearDatesError
from recordings.tables import ColumnRule, inspect_table, read_table

TWO_WAYS = "time,Load [W],X [W],Y [W]\n2026-02-14T10:00:00Z,100,5,0\n2026-02-14T10:00:01Z,100,0,7\n"


@pytest.fixture
def two_ways(tmp_path):
    path = tmp_path / "two-ways.csv"
    path.write_text(TWO_WAYS)
    return path


def test_two_columns_with_one_direction_each_make_one_channel(two_ways):
    rules = {"battery_power": ColumnRule("X [W]", less="Y [W]")}
    recording = read_table(two_ways, rules=rules)
    np.testing.assert_array_equal(recording.column("battery_power"), [5, -7])
    seen = inspect_table(two_ways, rules=rules)
    assert [(each.channel, each.sign) for each in seen.columns[1:]] == [
        ("battery_power", 1),
        ("battery_power", -1),
    ]
    turned = read_table(two_ways, rules={"battery_power": ColumnRule("X [W]", sign=-1, less="Y [W]")})
    np.testing.assert_array_equal(turned.column("battery_power"), [-5, 7])


def test_the_other_direction_is_told_by_its_header_too(tmp_path):
    path = tmp_path / "words.csv"
    path.write_text(
        "time,Charge power [W],Discharge power [W]\n2026-02-14T10:00:00Z,5,0\n2026-02-14T10:00:01Z,0,7\n"
    )
    assert [(each.channel, each.sign, each.read_in) for each in inspect_table(path).columns] == [
        ("battery_power", 1, "W"),
        ("battery_power", -1, "W"),
    ]


def test_a_rule_without_a_column_leaves_the_channel_out(tmp_path):
    path = tmp_path / "left.csv"
    path.write_text("time,Load [W],Grid [W]\n2026-02-14T10:00:00Z,1,2\n2026-02-14T10:00:01Z,1,2\n")
    recording = read_table(path, rules={"grid_power": ColumnRule("")})
    assert recording.channels == ("load_power",)
    assert recording.provenance.ignored == ["Grid [W]"]


def test_what_is_settled_is_told_beside_what_is_open(tmp_path):
    path = tmp_path / "open.csv"
    path.write_text(
        "time,House [W],Home [W],Grid [kW],PV [W]\n2026-02-14T10:00:00Z,1,2,3,4\n2026-02-14T10:00:01Z,1,2,3,4\n"
    )
    seen = inspect_table(path, rules={"solar_power": ColumnRule("none")})
    assert seen.unsettled == ("solar_power", "load_power")
    assert [each.channel for each in seen.columns] == ["", "", "grid_power", ""]
    assert seen.columns[2].read_in == "kW"
    with pytest.raises(UnclearColumnsError):
        read_table(path)


def test_open_dates_are_a_question_of_their_own(tmp_path):
    path = tmp_path / "dates.csv"
    path.write_text("time,Load [W]\n03/04/2026 10:00,1\n03/04/2026 10:01,2\n")
    with pytest.raises(UnclearDatesError, match="03/04/2026"):
        read_table(path)


def test_a_meter_that_errs_by_a_factor_and_a_constant(two_ways):
    rules = {
        "load_power": ColumnRule("Load [W]", scale=0.5, offset=-20),
        "battery_power": ColumnRule("X [W]", unit="kW", sign=-1, less="Y [W]", scale=2, offset=1),
    }
    recording = read_table(two_ways, rules=rules)
    np.testing.assert_array_equal(recording.column("load_power"), [30, 30])
    np.testing.assert_array_equal(recording.column("battery_power"), [-9_999, 14_001])
    assert recording.provenance.columns["load_power"].how == "by the site sheet; times 0.5; -20 W"


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        (ColumnRule("Load [W]", scale=0.0), "scale can't be used; expected a number but 0, found 0"),
        (ColumnRule("Load [W]", scale=float("inf")), "scale can't be used"),
        (ColumnRule("Load [W]", offset=float("nan")), "offset can't be used"),
    ],
)
def test_a_scale_or_offset_that_can_t_be(two_ways, rule, said):
    with pytest.raises(UnclearColumnsError) as refused:
        read_table(two_ways, rules={"load_power": rule})
    assert said in str(refused.value)
