"""From what a person says of columns to the rules of the site sheet: as few as do it, and what is meant is read."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from desktop.opening import rules_of
from desktop.sheet.channels import LABELS, MEANINGS, label, meaning
from desktop.sheet.columns import Use, answered, fault, first_uses, open_channels, question, rules
from desktop.site import ColumnRule
from recordings.channels import CHANNELS
from recordings.errors import UnclearColumnsError
from recordings.tables import inspect_table, read_table
from recordings.tables.units import fitting

HEADERS = [
    "Generator power [W]",
    "House [W]",
    "Home meter [W]",
    "PV 1 (kW)",
    "PV 2 (kW)",
    "Charge power [W]",
    "Discharge power [W]",
    "Grid export [kW]",
    "Battery V",
    "X",
    "Y + Z",
    "Energy [kWh]",
]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("columns")


def table(folder, headers, name="log.csv"):
    path = folder / name
    lines = [",".join(["time", *headers])]
    lines += [f"2026-02-14T10:00:{second:02d}Z" + ",50" * len(headers) for second in range(4)]
    path.write_text("\n".join(lines) + "\n")
    return path


def ask(path, sheet=""):
    path.with_suffix(".toml").write_text(sheet)
    return question([path])


def by_header(asked):
    return {each.header: each for each in asked.inspection.columns}


def test_what_is_read_right_needs_no_rule(folder):
    asked = ask(
        table(folder, ["Generator power [W]", "House [W]", "Charge power [W]", "Discharge power [W]"])
    )
    uses = first_uses(asked)
    assert [use.channel for use in uses.values()] == ["generator_power", "load_power"] + 2 * ["battery_power"]
    assert [use.sign for use in uses.values()] == [1, 1, 1, -1]
    assert rules(asked, uses) == {}
    assert not answered(asked, uses, None).changed


def test_an_open_channel_waits_until_one_column_is_named(folder):
    asked = ask(table(folder, ["House [W]", "Home meter [W]"]))
    uses = first_uses(asked)
    assert open_channels(asked, uses) == ("load_power",)
    index = by_header(asked)["Home meter [W]"].index
    uses[index] = Use("load_power")
    assert open_channels(asked, uses) == ()
    assert rules(asked, uses) == {"load_power": ColumnRule(column="Home meter [W]")}
    uses[index] = Use()
    assert open_channels(asked, uses) == ("load_power",)
    uses = {each: Use() for each in uses}
    assert open_channels(asked, uses) == ()


def test_scale_and_offset_stay_where_only_the_sign_is_answered_anew(folder):
    sheet = '[columns]\nload_power = { column = "House [W]", scale = 0.5, offset = -40 }\n'
    asked = ask(table(folder, ["House [W]", "X"], "scaled.csv"), sheet)
    uses = first_uses(asked)
    house, other = (by_header(asked)[name].index for name in ("House [W]", "X"))
    uses[house] = Use("load_power", sign=-1, told=True)
    rule = ColumnRule(column="House [W]", sign=-1, scale=0.5, offset=-40)
    assert rules(asked, uses)["load_power"] == rule
    uses[house], uses[other] = Use(), Use("load_power", "W", told=True)
    assert rules(asked, uses)["load_power"] == ColumnRule(column="X", unit="W")


def test_rules_that_still_hold_stay_as_they_are(folder):
    sheet = '[columns]\nload_power = { column = "X", unit = "kW" }\ngrid_power = { column = "Gone" }\n'
    asked = ask(table(folder, ["X", "House [W]", "Generator power [W]"]), sheet)
    uses = first_uses(asked)
    assert uses[1] == Use("load_power", "kW", 1)
    assert rules(asked, uses) == {
        "load_power": ColumnRule(column="X", unit="kW"),
        "grid_power": ColumnRule(column=""),
    }


def test_what_no_rule_can_say_is_told(folder):
    asked = ask(table(folder, ["PV 1 (kW)", "X", "X"]))
    uses = first_uses(asked)
    uses[2], uses[3] = Use("load_power"), Use("load_power")
    assert str(fault(asked, uses)) == (
        "House load: columns that are added up need different headers, without a plus sign."
    )
    uses[3] = Use()
    uses[1], uses[2] = Use("solar_power"), Use("solar_power", "W")
    assert "need the same unit" in str(fault(asked, uses))
    uses[2] = Use("solar_power", "kW")
    assert fault(asked, uses) is None


def test_the_order_of_dates_is_kept_in_the_sheet(folder):
    asked = ask(table(folder, ["House [W]"]), "[site]\nname = 'x'\n")
    draft = answered(asked, first_uses(asked), False)
    assert draft.site().site.dates == "month first"
    assert draft.site().site.name == "x"


def test_the_table_that_the_error_is_about_is_asked_about(folder):
    fine, open_one = table(folder, ["House [W]"], "a.csv"), table(folder, ["House [W]", "Home [W]"], "b.csv")
    with pytest.raises(UnclearColumnsError) as caught:
        read_table(open_one)
    asked = question([fine, open_one], None, caught.value)
    assert asked.path == open_one
    assert asked.draft.path == fine.with_suffix(".toml")


def test_every_channel_has_a_name_and_a_meaning():
    assert len({label(each) for each in CHANNELS}) == len(CHANNELS)
    assert all(meaning(each).endswith(".") for each in CHANNELS)
    assert set(LABELS) == set(MEANINGS) <= set(CHANNELS)
    assert label("generator_current_l2") == "Generator current, leg 2"


_channels = st.sampled_from(["", "", *CHANNELS])


@st.composite
def _chosen(draw):
    headers = draw(st.lists(st.sampled_from(HEADERS), min_size=1, max_size=7, unique=True))
    uses = []
    for _ in headers:
        channel = draw(_channels)
        units = ("", *fitting(CHANNELS[channel].unit)) if channel else ("",)
        uses.append(Use(channel, draw(st.sampled_from(units)), draw(st.sampled_from([1, -1]))))
    return headers, uses, draw(st.lists(st.booleans(), min_size=len(headers), max_size=len(headers)))


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(_chosen())
def test_whatever_is_chosen_is_what_is_read(folder, chosen):
    headers, wanted, kept = chosen
    asked = ask(table(folder, headers))
    uses = first_uses(asked)
    for each, use, keep in zip(asked.inspection.columns, wanted, kept, strict=True):
        # A column's own unit is of no use where it doesn't fit.
        fits = (
            use.unit or not use.channel or not each.unit or each.unit in fitting(CHANNELS[use.channel].unit)
        )
        if not keep and fits:
            uses[each.index] = use
    if fault(asked, uses) is not None or open_channels(asked, uses):
        return
    read = inspect_table(asked.path, rules=rules_of(answered(asked, uses, None).site()))
    powers = [use for use in uses.values() if use.channel and CHANNELS[use.channel].unit == "W"]
    if read.problem:
        assert not powers, read.problem
        return
    for each in read.columns:
        use = uses[each.index]
        assert each.channel == use.channel
        if use.channel:
            assert each.sign == use.sign
            assert each.read_in == (use.unit or each.unit or CHANNELS[use.channel].unit)
