"""The site sheet: what it accepts, what it assumes, and how it refuses."""

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.site import Site
from recordings.errors import SheetError

WHOLE = """
[site]
name = "Ridge hut"
timezone = "Europe/Berlin"
stamp = "end"
[generator]
rated_w = 7500
volts = 120
legs = 2
fuel = "propane"
[input]
limit_a = 25
[battery]
chemistry = "lfp"
capacity_kwh = 10.2
[meters.load_power]
percent = 1.0
[columns]
load_power = { column = "House", unit = "kW", sign = -1 }
[[device]]
source = "modbus-tcp://10.0.0.5:502?unit=1"
role = "generator"
"""


def test_a_whole_sheet_is_read():
    site = Site.parse(WHOLE)
    assert site.generator.rated_w == 7500
    assert site.generator.legs == 2
    assert str(site.zone) == "Europe/Berlin"
    assert site.columns["load_power"].sign == -1
    assert site.device[0].role == "generator"


def test_what_is_given_and_what_is_assumed_are_told_apart():
    marks = {(section, key): how for section, key, _, how in Site.parse(WHOLE).items()}
    assert marks["generator", "rated_w"] == "given"
    assert marks["generator", "power_factor"] == "assumed"
    assert marks["battery", "reserve_soc"] == "assumed"
    assert marks["meters.load_power", "percent"] == "given"
    assert marks["meters.load_power", "floor_w"] == "assumed"
    assert marks["meters.others", "percent"] == "assumed"
    assert ("battery", "absorb_v") not in marks


def test_a_meter_without_entry_has_the_assumed_class():
    site = Site.parse(WHOLE)
    assert (site.meter("load_power").percent, site.meter("load_power").floor_w) == (1.0, 15.0)
    assert (site.meter("grid_power").percent, site.meter("grid_power").floor_w) == (2.0, 15.0)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[generator]\nrated_W = 7", "unknown key generator.rated_W. The nearest known is rated_w"),
        ('[generator]\nrated_w = "7"', 'generator.rated_w; expected a number without quotes, found "7"'),
        ("[generator]\nrated_w = -4", "generator.rated_w; expected greater than 0, found -4"),
        ("[generator]\nrated_w = inf", "generator.rated_w"),
        ("[batery]\nx = 1", "The nearest known is battery"),
        ('[battery]\nchemistry = "lpf"', "expected 'lfp', 'nmc', 'flooded', 'agm' or 'gel', found \"lpf\""),
        ('[site]\ntimezone = "Mars"', 'a time zone such as "Europe/Berlin", found "Mars"'),
        (
            "[meters.lod_power]\npercent = 1",
            "unknown channel meters.lod_power. The nearest known is load_power",
        ),
        ("[meters.load_power]\npercnt = 1", "The nearest known is percent"),
        ('[columns]\nlod_power = { column = "x" }', "unknown channel columns.lod_power"),
        ('[[device]]\nrole = "grid"', "source of device 1 is missing"),
        ("a =", "no valid TOML"),
        ("generator = 5", "generator"),
    ],
)
def test_a_wrong_sheet_is_refused_in_one_line_that_says_what_would_be_right(text, says):
    with pytest.raises(SheetError) as caught:
        Site.parse(text, "hut.toml")
    assert says in str(caught.value)
    assert str(caught.value).startswith("hut.toml: ")


def test_a_sheet_that_is_not_there_or_no_text_is_refused(tmp_path):
    with pytest.raises(SheetError, match="can't read the site sheet"):
        Site.load(tmp_path / "none.toml")
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(SheetError, match="is not UTF-8 text"):
        Site.load(tmp_path / "bytes.toml")


_keys = st.sampled_from(
    ["site", "generator", "input", "battery", "meters", "columns", "device", "rated_w", "x"]
)
_trees = st.recursive(
    st.one_of(st.integers(), st.floats(), st.text(max_size=5), st.booleans()),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(_keys, inner, max_size=3)),
    max_leaves=8,
)


@settings(deadline=None)
@given(st.dictionaries(_keys, _trees, max_size=4))
def test_any_table_is_read_or_refused(table):
    # Anything else than a refusal of our own would end the test here.
    with contextlib.suppress(SheetError):
        assert isinstance(Site.of(table), Site)
