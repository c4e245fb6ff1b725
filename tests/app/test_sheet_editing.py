"""Changing a site sheet: comments and order stay, every key is explained, and nothing wrong is ever written."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desktop.sheet import facts
from desktop.sheet.editing import SheetDraft
from desktop.sheet.keys import KEYS, SECTIONS, SINGLE
from desktop.site import ColumnRule, Site
from recordings.channels import POWERS
from recordings.errors import SheetError

SHEET = """\
# The hut above the lake.

[generator]          # the red one
rated_w = 7500       # off its plate
volts=230
[site]
name = "Hut"

# What the charger does
[charger]
limit_a = 80.0

[meters.load_power]
percent = 1.0 # clamp

[columns]
load_power = { column = "House", unit = "kW" } # header errs
"""


def test_every_key_is_named_and_explained_once():
    described = [each.path for each in KEYS]
    assert len(set(described)) == len(described)
    assert set(described) == {
        (table, key) for table, model in facts.MODELS.items() for key in model.model_fields
    }
    assert set(facts.MODELS) == set(Site.model_fields) == set(SECTIONS)
    assert all(each.label and each.explanation.endswith(".") for each in KEYS)
    assert {
        choice for each in KEYS for choice in facts.choices(*each.path) if isinstance(choice, str)
    } == set(facts.CHOICES)


def test_units_are_those_that_the_keys_names_tell():
    endings = {"_w": "W", "_a": "A", "_v": "V", "_c": "°C", "_m": "m", "_kwh": "kWh", "_soc": "%"}
    told = {each.path: each.unit for each in KEYS}
    for path, unit in told.items():
        ending = next((end for end in endings if path[1].endswith(end)), "")
        if ending:
            assert unit == endings[ending], path


def test_what_is_assumed_is_what_the_sheet_assumes():
    assumed = {(section, key): value for section, key, value, how in Site().items() if how == "assumed"}
    for each in SINGLE:
        assert facts.assumed(*each.path) == assumed.get(each.path)
    assert facts.assumed("meters", "percent") == assumed["meters.others", "percent"]


@pytest.mark.parametrize(
    ("path", "right", "wrong"),
    [
        (("generator", "rated_w"), "a number above 0", [0, -3]),
        (("generator", "power_factor"), "a number above 0 and up to 1", [0, 1.1]),
        (("generator", "air_c"), "a number from -60 to 60", [-61, 61]),
        (("generator", "price_per_unit"), "a number from 0 on", [-1]),
        (("generator", "legs"), "one of 1, 2, 3", [4]),
        (("battery", "min_charge_c"), "a number", ["cold"]),
        (("site", "timezone"), "a time zone such as Europe/Berlin", ["Mars"]),
    ],
)
def test_what_would_be_right_is_what_the_sheet_accepts(path, right, wrong):
    assert str(facts.right(*path)) == right
    for value in wrong:
        with pytest.raises(SheetError):
            Site.of({path[0]: {path[1]: value}})


def test_changes_leave_comments_order_and_everything_else_as_written(tmp_path):
    path = tmp_path / "hut.toml"
    path.write_text(SHEET)
    draft = SheetDraft.load(path)
    assert draft.text == SHEET
    assert not draft.changed
    draft.set("generator", "rated_w", 6000.0)
    draft.set("generator", "hz", 50.0)
    draft.set("charger", "limit_a", 80)
    draft.set_meter("load_power", {"percent": 0.5, "floor_w": 8})
    draft.set("battery", "capacity_kwh", 10.5)
    assert draft.changed
    draft.save()
    assert path.read_text() == SHEET.replace("7500 ", "6000 ").replace(
        "volts=230\n", "volts=230\nhz = 50\n"
    ).replace("percent = 1.0 # clamp\n", "percent = 0.5 # clamp\nfloor_w = 8\n") + (
        "\n[battery]\ncapacity_kwh = 10.5\n"
    )


def test_a_key_that_is_not_known_any_more_is_taken_out():
    draft = SheetDraft(SHEET)
    draft.set("generator", "volts", None)
    draft.set_meter("load_power", {"percent": None})
    site = draft.site()
    assert not site.given("generator", "volts")
    assert site.generator.rated_w == 7500
    assert not site.meters
    assert "volts" not in draft.text


def test_rules_for_columns_are_added_replaced_and_taken_out():
    draft = SheetDraft(SHEET)
    house = ColumnRule(column="House", unit="kW")
    grid = ColumnRule(column='Net "A"', sign=-1, less="Out")
    draft.set_rules({"load_power": house, "grid_power": grid})
    assert "# header errs" in draft.text
    assert draft.site().columns == {"load_power": house, "grid_power": grid}
    draft.set_rules({"grid_power": ColumnRule(column="")})
    assert draft.site().columns == {"grid_power": ColumnRule(column="")}


def test_devices_are_listed_one_by_one():
    draft = SheetDraft(SHEET)
    draft.set_devices([{"source": "modbus-tcp://10.0.0.5", "role": "grid"}, {"source": "serial:///dev/x"}])
    assert [each.role for each in draft.site().device] == ["grid", None]
    draft.set_devices([])
    assert draft.text.strip() == SHEET.strip()


def test_nothing_wrong_is_written(tmp_path):
    path = tmp_path / "hut.toml"
    path.write_text(SHEET)
    draft = SheetDraft.load(path)
    draft.set("generator", "rated_w", -5)
    with pytest.raises(SheetError, match=r"generator\.rated_w; expected greater than 0, found -5"):
        draft.save()
    assert path.read_text() == SHEET


def test_a_sheet_that_is_wrong_already_is_not_edited(tmp_path):
    path = tmp_path / "hut.toml"
    path.write_text("[generator]\nrated_W = 3\n")
    with pytest.raises(SheetError, match="The nearest known is rated_w"):
        SheetDraft.load(path)


def test_what_something_else_wrote_meanwhile_is_not_lost(tmp_path):
    path = tmp_path / "hut.toml"
    path.write_text(SHEET)
    draft = SheetDraft.load(path)
    path.write_text(SHEET + "\n[solar]\nrated_w = 3000\n")
    draft.set("generator", "hz", 60)
    with pytest.raises(SheetError, match="changed by something else"):
        draft.save()
    assert "3000" in path.read_text()


def test_a_sheet_is_made_where_there_was_none(tmp_path):
    path = tmp_path / "new.toml"
    draft = SheetDraft.load(path)
    draft.set("input", "limit_a", 16)
    draft.save()
    assert path.read_text() == "[input]\nlimit_a = 16\n"
    draft.set("input", "limit_a", 20)
    assert draft.save().input.limit_a == 20


def test_line_breaks_stay_as_they_were(tmp_path):
    path = tmp_path / "hut.toml"
    path.write_bytes(SHEET.replace("\n", "\r\n").encode())
    draft = SheetDraft.load(path)
    draft.set("solar", "rated_w", 3000)
    draft.save()
    content = path.read_bytes().decode()
    assert content.count("\n") == content.count("\r\n") > SHEET.count("\n")


def test_the_copy_of_a_draft_is_changed_alone():
    draft = SheetDraft(SHEET)
    twin = draft.copy()
    twin.set("generator", "hz", 60)
    assert not draft.changed
    assert twin.changed


LAYOUTS = [
    SHEET,
    "",
    "# nothing yet",
    "generator.rated_w = 5\nsite.name = 'x'",
    "generator = { rated_w = 5 } # inline\n[site]\nname = 'x'",
    "[meters.grid_power]\npercent = 1\n[site]\nname = 'x'\n[meters.load_power]\nfloor_w = 3",
    "[meters]\nload_power = { percent = 1 }\n\n[columns.load_power]\ncolumn = 'x'\n[input]\n",
    "[[device]]\nsource = 'a'\n\n[generator]\n# only a comment\n",
    "device = [{ source = 'a' }]\n",
]

_NUMBERS = st.one_of(st.none(), st.integers(1, 10**6), st.floats(0.5, 99.0))
_KEYS = [
    each
    for each in SINGLE
    if facts.is_number(*each.path) and facts.right(*each.path).template.endswith("{least}")
]
_CHANGES = st.lists(
    st.one_of(
        st.tuples(st.just("value"), st.sampled_from(_KEYS), _NUMBERS),
        st.tuples(st.just("meter"), st.sampled_from(POWERS), st.fixed_dictionaries({"floor_w": _NUMBERS})),
        st.tuples(
            st.just("rules"),
            st.dictionaries(
                st.sampled_from(POWERS),
                st.builds(ColumnRule, column=st.text(max_size=6), sign=st.sampled_from([None, 1, -1])),
                max_size=3,
            ),
            st.none(),
        ),
    ),
    max_size=6,
)


@given(st.sampled_from(LAYOUTS), _CHANGES)
def test_whatever_is_changed_arrives_or_is_refused_and_nothing_else_changes(layout, changes):
    draft = SheetDraft(layout)
    expected = tomllib.loads(layout)
    for kind, what, value in changes:
        if kind == "value":
            draft.set(what.section, what.key, value)
            section = (
                expected.setdefault(what.section, {}) if value is not None else expected.get(what.section, {})
            )
            section.update({what.key: value})
            if value is None:
                section.pop(what.key)
        elif kind == "meter":
            draft.set_meter(what, value)
            meters = expected.setdefault("meters", {})
            merged = {key: each for key, each in (meters.get(what, {}) | value).items() if each is not None}
            meters.pop(what, None)
            meters.update({what: merged} if merged else {})
        else:
            draft.set_rules(what)
            expected["columns"] = {name: rule.model_dump(exclude_none=True) for name, rule in what.items()}
    written = tomllib.loads(draft.text)
    assert {name: table for name, table in written.items() if table} == {
        name: table for name, table in expected.items() if table
    }
    for line in layout.splitlines():
        if line.strip().startswith("#"):
            assert line in draft.text
