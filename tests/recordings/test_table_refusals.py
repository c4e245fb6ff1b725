"""What can't be understood is refused in one line that says where and how to mend it; nothing is guessed."""

import pytest

from recordings.errors import ReadError
from recordings.tables import ColumnRule, read_table

HEAD = "time,Load [W]\n"
ROWS = "".join(f"2026-02-14T10:{minute:02d}Z,{minute}\n" for minute in range(50))

REFUSED = {
    "empty": ("", ["is empty"]),
    "NULs only": ("\0\0\0\0", ["is empty"]),
    "no table": ("hello\nworld\n", ["no table found", "CSV"]),
    "no times": ("a,Load [W]\n1,2\n3,4\n", ["no column of dates or times", "time column"]),
    "no header": (ROWS, ["no header row", "first line"]),
    "one row": (HEAD + "2026-02-14T10:00Z,1\n", ["too few rows", "found 1"]),
    "one instant": (HEAD + "2026-02-14T10:00Z,1\n2026-02-14T10:00Z,2\n", ["too few rows"]),
    "no power": (
        "time,Battery voltage [V]\n2026-02-14 10:00,52\n",
        ["no column of power", "Battery voltage [V]", "[columns]"],
    ),
    "times of day": ("time,Load [W]\n10:00:00,1\n10:00:01,2\n", ["no dates", "column of dates"]),
    "two loads": (
        "time,Load [W],House [W]\n2026-02-14 10:00,1,2\n2026-02-14 10:01,1,2\n",
        ["two columns fit load_power", '"Load [W]" and "House [W]"', "[columns] load_power"],
    ),
    "one header twice": (
        "time,Load [W],Load [W]\n2026-02-14 10:00,1,2\n2026-02-14 10:01,1,2\n",
        ["same header", "Load [W]", "different headers"],
    ),
    "day or month": (
        HEAD + "01/02/2026 10:00,1\n01/02/2026 10:01,2\n",
        ["day first or month first", 'column "time"', "--day-first or --month-first"],
    ),
    "too many words": (
        HEAD + ROWS + "2026-02-14T11:00Z,bad\n" * 9,
        ['"Load [W]" has 9 cells', "line 52", '"bad"', "[columns]"],
    ),
    "words for times": (
        HEAD + ROWS + "soon,1\n" * 9,
        ['"time" has 9 cells', "line 52", '"soon"', "2026-02-14 14:03:20"],
    ),
    "columns that change": (
        HEAD + ROWS + "time,PV [W]\n2026-02-14T11:00Z,5\n",
        ["columns change", "line 52", "time,PV [W]", "split the file"],
    ),
    "too wide": (
        "time,Load [W]\n2026-02-14 10:00,1,5\n2026-02-14 10:01,2,5\n",
        ["has 2 columns, the rows have 3", "line 1"],
    ),
    "kW or W": (
        "time,Load,PV\n2026-02-14 10:00,0.35,1.2\n2026-02-14 10:01,0.4,1.3\n",
        ['column "Load" gives no unit', "W or kW", 'load_power = { column = "Load", unit = "kW" }'],
    ),
    "a thousand times": (
        "time\tLoad [W]\n2026-02-14 10:00\t1,234\n2026-02-14 10:01\t2,345\n",
        ['column "Load [W]"', "a thousand times apart", "without thousands separators"],
    ),
    "grouped by points": (
        "time;Load [W]\n2026-02-14 10:00;1.234\n2026-02-14 10:01;950\n",
        ["a thousand times apart"],
    ),
}


@pytest.mark.parametrize(("text", "told"), REFUSED.values(), ids=REFUSED.keys())
def test_refusals(read, text, told):
    with pytest.raises(ReadError) as caught:
        read(text)
    line = str(caught.value)
    assert "day.csv" in line
    assert "\n" not in line
    for part in told:
        assert part.casefold() in line.casefold()


TWO_ROWS = HEAD + "2026-02-14 10:00,1\n2026-02-14 10:01,2\n"


def test_rows_of_ever_other_widths(read):
    rows = "".join(f"2026-02-14 10:{m:02d},{m}" + (",5" if m % 3 else "") + "\n" for m in range(1, 60)) * 4
    with pytest.raises(
        ReadError, match="line 404: 76 rows have another number of cells; expected 3 cells, found 2"
    ):
        read("time,Load [W],PV [W]\n" + "2026-02-14 10:00,1,5\n" * 400 + rows)


@pytest.mark.parametrize(
    ("rules", "told"),
    [
        (
            {"load_power": ColumnRule("Lode [W]")},
            ["no column has this header", "Lode [W]", 'write "Load [W]"'],
        ),
        ({"load_power": ColumnRule("")}, ["no column of power found", "Load [W]"]),
        ({"load_powr": ColumnRule("Load [W]")}, ["no channel load_powr", "write load_power"]),
        ({"load_power": ColumnRule("Load [W]", unit="furlong")}, ["unknown unit", "furlong"]),
        ({"load_power": ColumnRule("Load [W]", unit="mw")}, ["unknown unit", "mw"]),
        ({"battery_voltage": ColumnRule("Load [W]")}, ["can't become V", 'unit = "V"']),
        ({"load_power": ColumnRule("Load [W]", sign=0)}, ["sign", "1 or -1"]),
    ],
)
def test_rules_that_fit_nothing(read, rules, told):
    with pytest.raises(ReadError) as caught:
        read(TWO_ROWS, rules=rules)
    for part in told:
        assert part.casefold() in str(caught.value).casefold()


def test_a_ruled_column_of_words_is_refused(read):
    text = "time,Load [W],remark\n2026-02-14 10:00,1,fine\n2026-02-14 10:01,2,bad\n"
    with pytest.raises(ReadError, match='line 2: column "remark"'):
        read(text, rules={"solar_power": ColumnRule("remark")})


def test_a_clock_that_runs_on_through_the_skipped_hour(read):
    rows = "".join(f"2024-03-31 {m // 60:02d}:{m % 60:02d},{m}\n" for m in range(60, 240, 5))
    with pytest.raises(ReadError, match=r"02:00:00 doesn't exist in Europe/Berlin.*Etc/GMT-1"):
        read(HEAD + rows, timezone="Europe/Berlin")
    assert len(read(HEAD + rows, timezone="Etc/GMT-1")) == 36


def test_an_unknown_zone(read):
    for zone in ("Europe/Nowhere", "../etc/passwd", "\0"):
        with pytest.raises(ReadError, match="unknown time zone"):
            read(TWO_ROWS, timezone=zone)


def test_files_that_cannot_be_opened(tmp_path):
    for path, told in (
        (tmp_path / "none.csv", "no such file"),
        (tmp_path, "this is a folder"),
        ("\0", "can't be read"),
    ):
        with pytest.raises(ReadError, match=told):
            read_table(path)


def test_few_accidents_are_no_reason_to_refuse(read):
    recording = read(HEAD + ROWS + "2026-02-14T11:00Z,bad\n2026-02-14T11:01Z,\n")
    assert recording.provenance.repairs.bad_cells == 1
