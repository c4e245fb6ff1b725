"""Where a table begins and how it is cut: preambles, groups of headers, units in cells, one reading per row."""

import os

import pytest
from tables_help import seconds, values

from recordings.errors import ReadError
from recordings.tables import read_table

ROWS = "".join(f"2026-02-14 10:{row:02d},{1500 + row},{300 + row},52.1\n" for row in range(30))
HEADER = "Time (UTC),Generator power [W],Load [W],Battery voltage [V]\n"


@pytest.mark.parametrize(
    "preamble",
    [
        "Exported 2026-02-14 12:00:00,,,\n",
        "Site,Hut,,\nExported 2026-02-14 12:00:00,,,\n\n",
        "Date,2026-02-14 12:00:00,,\nSerial,4711,,\n",
    ],
)
def test_a_stamp_in_a_preamble_as_wide_as_the_table_is_no_data(read, preamble):
    recording = read(preamble + HEADER + ROWS)
    assert len(recording) == 30
    assert recording.channels == ("generator_power", "load_power", "battery_voltage")
    assert recording.provenance.repairs.bad_rows == 0


@pytest.mark.parametrize(
    "groups",
    [",Generator,House,Battery\n", ",Generator,House,Battery,\n", ",Generator [W],House [W],Battery [V]\n"],
)
def test_a_row_of_groups_tells_equal_headers_apart(read, groups):
    recording = read(groups + "Time,Value,Value,Value\n" + ROWS if "[" in groups else groups + GROUPED + ROWS)
    assert recording.channels == ("generator_power", "load_power", "battery_voltage")
    assert values(recording, "load_power")[:2] == [300, 301]


GROUPED = "Time,Power [W],Power [W],Voltage [V]\n"


def test_a_group_holds_until_the_next_one_begins(read):
    text = ",Generator,,Battery,\nTime,Power,Voltage,Power,Voltage\n,kW,V,W,V\n"
    recording = read(text + "2026-02-14 10:00,1.5,230,-80,52\n2026-02-14 10:01,1.6,231,-90,53\n")
    assert values(recording, "generator_power") == pytest.approx([1500, 1600])
    assert values(recording, "generator_voltage") == [230, 231]
    assert values(recording, "battery_power") == [-80, -90]
    assert recording.provenance.columns["battery_voltage"].column == "Battery Voltage"


def test_units_behind_the_numbers(read):
    text = "time;Generator;Battery;Load;SOC;Load share\n"
    recording = read(
        text + "2026-02-14 10:00;1,5 kW;52,1 V;300 W;80 %;12 %\n2026-02-14 10:01;-- ;52,2 V;n/a;81%;13 %\n"
    )
    assert recording.channels == ("generator_power", "load_power", "battery_voltage", "battery_soc")
    assert values(recording, "generator_power") == [1500, None]
    assert values(recording, "battery_voltage") == pytest.approx([52.1, 52.2])
    assert "unit from the cells" in recording.provenance.columns["load_power"].how
    assert recording.provenance.columns["generator_power"].unit == "kW"


def test_a_percentage_in_cells_is_no_power(read):
    recording = read("time;House [W];Generator\n2026-02-14 10:00;300;45 %\n2026-02-14 10:01;300;50 %\n")
    assert recording.channels == ("load_power",)


def test_other_units_in_a_few_cells_are_bad_cells(read):
    cells = ["300 W"] * 40
    cells[3] = "1.2 kW"
    recording = read(
        "time;Load\n" + "".join(f"2026-02-14 10:{n:02d};{cell}\n" for n, cell in enumerate(cells))
    )
    assert values(recording, "load_power")[2:5] == [300, None, 300]
    assert recording.provenance.repairs.bad_cells == 1


def test_one_reading_per_row_is_refused(read):
    rows = "".join(
        f"2026-02-14 10:{row:02d};Generator power;1500\n2026-02-14 10:{row:02d};Load power;300\n"
        for row in range(20)
    )
    with pytest.raises(
        ReadError, match=r'each row holds one reading, named in column "channel".*a column for each'
    ):
        read("time;channel;value\n" + rows)


def test_rows_that_share_coarse_stamps_are_averaged(read):
    rows = "".join(f"2026-02-14 10:{row // 6:02d},{300 + row % 6},\n" for row in range(60))
    recording = read("Time (UTC),Load [W],PV [W]\n" + rows.replace("300,", "300,60"))
    assert seconds(recording)[:2] == ["2026-02-14T10:00:00", "2026-02-14T10:01:00"]
    assert values(recording, "load_power") == [302.5] * 10
    assert values(recording, "solar_power") == [60] * 10
    assert any("stamps are coarser than the readings" in note for note in recording.provenance.repairs.notes)
    assert recording.provenance.repairs.duplicates == 0


@pytest.mark.parametrize(
    ("cells", "wanted"),
    [('"0,950"', 950), ('"0,000"', 0), ("0.950", 950)],
)
def test_thousands_do_not_begin_with_a_nought(read, cells, wanted):
    rows = f"2026-02-14 10:00,{cells},5\n2026-02-14 10:01,{cells.replace('0', '1', 1)},5\n"
    recording = read("time,Load [kW],Remark\n" + rows)
    assert values(recording, "load_power") == pytest.approx([wanted, wanted + 1000])


def test_too_many_columns_are_refused_at_once(read):
    many = ",".join(["time", "Load [W]", *(f"c{n}" for n in range(20_000))])
    with pytest.raises(ReadError, match="too many columns; expected at most 10000, found 20002"):
        read(many + "\n" + ",".join(["2026-02-14 10:00"] * 20_002) + "\n")


def test_a_column_named_after_the_time_that_holds_none(read):
    with pytest.raises(ReadError, match=r'column "Date/time" holds no dates or times.*found "45994.63"'):
        read("Date/time,Load [W]\n45994.63,1\n45994.64,2\n")


@pytest.mark.parametrize(
    ("beginning", "kind"),
    [
        (b"PK\x03\x04", "a packed file or a spreadsheet"),
        (b"\x1f\x8b\x08", "a packed file"),
        (b"\x89PNG\r\n\x1a\n", "a picture"),
        (b"%PDF-1.7\n", "a PDF document"),
        (b"PAR1", "a Parquet file"),
    ],
)
def test_other_kinds_of_files_are_named(read, beginning, kind):
    with pytest.raises(ReadError, match=f"this is {kind}, no text table.*as CSV"):
        read(beginning + b"time,Load [W]\n2026-02-14 10:00,1\n")


def test_a_pipe_is_refused_and_not_waited_for(tmp_path):
    pipe = tmp_path / "pipe.csv"
    os.mkfifo(pipe)
    with pytest.raises(ReadError, match="no ordinary file"):
        read_table(pipe)
