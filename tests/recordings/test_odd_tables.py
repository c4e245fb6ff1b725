"""Tables of unknown make, each a few lines: what the file may look like, and what must come of it."""

import codecs

import pytest
from tables_help import seconds, values

TWO = ["2026-02-14T10:00:00", "2026-02-14T10:00:01"]
PLAIN = "time,Generator power [W],Load [W]\n2026-02-14T10:00:00Z,1500,300\n2026-02-14T10:00:01Z,1600.5,\n"

SAME = {
    "comma": PLAIN,
    "semicolon": PLAIN.replace(",", ";"),
    "tab": PLAIN.replace(",", "\t"),
    "bar": PLAIN.replace(",", "|"),
    "carriage return and line feed": PLAIN.replace("\n", "\r\n"),
    "carriage return": PLAIN.replace("\n", "\r"),
    "no last line end": PLAIN.rstrip("\n"),
    "decimal comma": PLAIN.replace(",", ";").replace("1600.5", "1600,5"),
    "thousands and decimal comma": PLAIN.replace(",", ";").replace("1600.5", "1.600,5"),
    "thousands and decimal point": PLAIN.replace("1600.5", '"1,600.5"'),
    "thousands by blank": PLAIN.replace(",", ";").replace("1600.5", "1 600,5"),
    "thousands by narrow blank": PLAIN.replace(",", ";").replace("1600.5", "1\u202f600,5"),
    "thousands by apostrophe": PLAIN.replace("1600.5", "1'600.5"),
    "kilowatts in brackets": PLAIN.replace("power [W]", "power (kW)")
    .replace("1500", "1.5")
    .replace("1600.5", "1.6005"),
    "kilowatts at the end": PLAIN.replace("Generator power [W]", "Generator_kW")
    .replace("1500", "1.5")
    .replace("1600.5", "1.6005"),
    "megawatts": PLAIN.replace("power [W]", "power [MW]")
    .replace("1500", "0.0015")
    .replace("1600.5", "1.6005e-3"),
    "no record in words": PLAIN.replace("1600.5,", "1600.5,N/A"),
    "no record as a dash": PLAIN.replace("1600.5,", "1600.5,--"),
    "quoted everything": "\n".join(
        ",".join(f'"{cell}"' for cell in line.split(",")) for line in PLAIN.splitlines()
    ),
    "blanks round cells": PLAIN.replace(",", " , "),
    "preamble": "Logger 7\nSite: the hut\n\nexported,2026-03-01\n" + PLAIN,
    "separator line": "sep=;\n" + PLAIN.replace(",", ";"),
    "unit row": PLAIN.replace(" [W]", "").replace("\n", "\n,W,W\n", 1),
    "unit row with a format": PLAIN.replace(" [W]", "").replace("\n", "\nyyyy-mm-dd,W,(W)\n", 1),
    "quoted line end in a header": PLAIN.replace("Generator power [W]", '"Generator\npower [W]"'),
    "trailing delimiters": PLAIN.replace("\n", ",\n"),
    "trailing delimiter in rows only": PLAIN.replace("\n", ",\n").replace(",\n", "\n", 1),
    "blank lines": PLAIN.replace("\n", "\n\n"),
    "unknown columns": "\n".join(
        line + "".join(f",{word}{place}" for place in range(300))
        for line, word in zip(PLAIN.splitlines(), ("column ", "text", "4"), strict=True)
    ),
    "NULs in a row": PLAIN.replace("1500", "15\0\0\x0000"),
    "NULs at the end": PLAIN + "\0" * 900,
    "torn last line": PLAIN + "2026-02-14T10:0",
    "header repeated": PLAIN.replace("2026-02-14T10:00:01Z", PLAIN.split("\n")[0] + "\n2026-02-14T10:00:01Z"),
}


@pytest.mark.parametrize("text", SAME.values(), ids=SAME.keys())
def test_one_table_in_many_dresses(read, text):
    recording = read(text)
    assert seconds(recording) == TWO
    assert recording.channels == ("generator_power", "load_power")
    assert values(recording, "generator_power") == [1500, 1600.5]
    assert values(recording, "load_power") == [300, None]
    assert recording.provenance.repairs.bad_cells == 0


@pytest.mark.parametrize(
    ("encoding", "mark"),
    [
        ("utf-8", b""),
        ("utf-8", codecs.BOM_UTF8),
        ("utf-16-le", codecs.BOM_UTF16_LE),
        ("utf-16-be", codecs.BOM_UTF16_BE),
        ("utf-16-le", b""),
        ("utf-16-be", b""),
        ("cp1252", b""),
        ("latin-1", b""),
    ],
)
def test_encodings(read, encoding, mark):
    text = (
        "Horodatage;Température batterie [°C];Puissance générateur [W]\n"
        "2026-02-14 10:00:00;-4,5;1500\n2026-02-14 10:00:01;;1600\n"
    )
    recording = read(mark + text.encode(encoding))
    assert recording.channels == ("generator_power", "battery_temperature")
    assert values(recording, "battery_temperature") == [-4.5, None]
    assert recording.provenance.columns["battery_temperature"].column == "Température batterie [°C]"


def test_bytes_that_windows_1252_leaves_undefined_are_latin_1(read):
    recording = read(b"time;Temp\x81 batterie [\xb0C];Last [W]\n2026-02-14 10:00;1;2\n2026-02-14 10:01;1;3\n")
    assert values(recording, "load_power") == [2, 3]


def test_rows_of_other_widths_and_words_for_times_are_counted(read):
    rows = "".join(f"2026-02-14 10:{minute:02d},{minute}\n" for minute in range(40))
    recording = read("time,Load [W]\n" + rows + "2026-02-14 10:40\nlogger stopped,0\n2026-02-14 10:41,41\n")
    assert len(recording) == 41
    assert recording.provenance.repairs.bad_rows == 2


def test_a_cell_that_is_no_number_is_missing_and_counted(read):
    rows = "".join(f"2026-02-14 10:{minute:02d},{minute}\n" for minute in range(40))
    recording = read("time,Load [W]\n" + rows.replace(",7\n", ",E04\n").replace(",9\n", ",inf\n"))
    assert values(recording, "load_power")[6:10] == [6, None, 8, None]
    assert recording.provenance.repairs.bad_cells == 2


def test_an_open_quote_costs_its_own_line_only(read):
    rows = [f"2026-02-14 10:{minute:02d},{minute},ok\n" for minute in range(40)]
    rows[5] = '2026-02-14 10:05,"5,torn\n'
    rows[9] = '2026-02-14 10:09,"9,torn\n'
    recording = read("time,Load [W],remark\n" + "".join(rows))
    assert len(recording) == 38
    assert recording.provenance.repairs.bad_rows == 2


def test_quoted_line_ends_in_cells(read):
    rows = "".join(f'2026-02-14 10:{minute:02d},"two\nlines",{minute}\n' for minute in range(40))
    recording = read("time,remark,Load [W]\n" + rows)
    assert values(recording, "load_power") == list(range(40))


def test_rows_that_end_early_are_filled_up(read):
    rows = "".join(
        f"2026-02-14 10:{minute:02d},{minute}" + (",5\n" if minute % 2 else "\n") for minute in range(40)
    )
    recording = read("time,Load [W],PV [W]\n" + rows)
    assert values(recording, "load_power") == list(range(40))
    assert values(recording, "solar_power")[:3] == [None, 5, None]


def test_numbers_that_show_their_decimal_comma_late(read):
    rows = "".join(f"2026-02-14 {m // 60:02d}:{m % 60:02d};{m}\n" for m in range(900))
    recording = read("time;Load [W]\n" + rows + "2026-02-14 23:00;1.234,5\n2026-02-14 23:01;7,25\n")
    assert values(recording, "load_power")[-2:] == [1234.5, 7.25]


def test_a_short_number_with_a_comma_between_semicolons_has_a_decimal_comma(read):
    recording = read("time;Load [kW]\n2026-02-14 10:00;1,234\n2026-02-14 10:01;2,345\n")
    assert values(recording, "load_power") == [1234, 2345]


def test_quoted_groups_of_three_between_commas_are_thousands(read):
    recording = read('time,Load [W]\n2026-02-14 10:00,"1,234"\n2026-02-14 10:01,"12,345"\n')
    assert values(recording, "load_power") == [1234, 12345]


def test_many_blocks_read_as_one(read, monkeypatch):
    rows = "".join(f"2026-02-14T{m // 60:02d}:{m % 60:02d}:00Z,{m},{m / 8}\n" for m in range(1440))
    text = "time,Load [W],PV [kW]\n" + rows
    whole = read(text)
    monkeypatch.setattr("recordings.tables.passes.BLOCK", 1000)
    shares = []
    cut = read(text, progress=shares.append)
    assert values(cut, "load_power") == values(whole, "load_power") == list(range(1440))
    assert values(cut, "solar_power") == values(whole, "solar_power")
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


# RFC 4180, section 2 (October 2005): quoted fields may hold commas, line breaks and doubled quotes.
def test_rfc_4180_quoting(read):
    recording = read(
        '"time","b""bb, c\r\nd","Load [W]"\r\n"2026-02-14 10:00","a,""b""\r\nc","1"\r\n"2026-02-14 10:01","","2"'
    )
    assert values(recording, "load_power") == [1, 2]
    assert recording.provenance.ignored == ['b"bb, c d']
