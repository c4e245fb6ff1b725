"""What a person sees who settles which column is which."""

import pytest

from recordings.errors import ReadError
from recordings.tables import ColumnRule, inspect_table

TEXT = "Logger\n\nZeit;Last;Haus [W];Netz;Notiz\n;W;;W;\n14.02.2026 10:00;1,5;2;3;a\n14.02.2026 10:01;2,5;2;3;b\n"


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "day.csv"
    path.write_text(TEXT, encoding="utf-16")
    return path


def test_a_table_that_needs_a_word(path):
    seen = inspect_table(path)
    assert (seen.delimiter, seen.encoding, seen.header_line) == (";", "utf-16-le", 3)
    assert seen.rows[0] == ("Zeit", "Last", "Haus [W]", "Netz", "Notiz")
    assert seen.rows[1] == ("", "W", "", "W", "")
    assert seen.rows[-1] == ("14.02.2026 10:01", "2,5", "2", "3", "b")
    assert 'two columns fit load_power equally well: "Last" and "Haus [W]"' in seen.problem
    load = seen.columns[0]
    assert (load.header, load.unit, load.meant, load.channel) == ("Last", "W", "load_power", "")
    assert load.rivals == ("Haus [W]",)
    assert "unit from the unit row" in load.how
    assert seen.columns[3].numeric == 0


def test_the_same_table_after_the_word(path):
    seen = inspect_table(path, rules={"load_power": ColumnRule("Last")})
    assert seen.problem == ""
    assert seen.decimal == ","
    assert [column.channel for column in seen.columns] == ["load_power", "", "grid_power", ""]
    assert seen.times == 'times from "Zeit"'


def test_what_is_no_table_is_refused(tmp_path):
    with pytest.raises(ReadError, match="no such file"):
        inspect_table(tmp_path / "none.csv")
