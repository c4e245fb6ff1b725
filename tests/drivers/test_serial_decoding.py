"""What a line says, and what it doesn't."""

import math

import pytest
from serial_help import NAMED, PLACED, line_map

from drivers.serial_lines.decoding import Decoder
from drivers.serial_lines.framing import LineCutter, checked, xor
from drivers.serial_lines.rows import Rows
from drivers.serial_lines.sheet import LineMap
from recordings.errors import SheetError


def decoded(sheet, *lines):
    """What each line says once the connection's first line has gone by."""
    decoder = Decoder(sheet)
    if sheet.line.format != "json" and sheet.line.checksum == "none":
        assert decoder.decode(b"7,7") == {}
    return [decoder.decode(line) for line in lines], decoder


def test_the_checksum_is_that_of_nmea_0183():
    # The sentence that textbooks of NMEA 0183 show; quoted from memory.
    sentence = b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"
    assert xor(sentence[1:-3]) == 0x47
    assert checked(sentence) == sentence[1:-3]
    assert checked(b"\x80noise$" + sentence[1:]) == sentence[1:-3]
    for wrong in (b"$GPGGA,123519*47", sentence[:-1], sentence + b"0", b"", b"*", b"$*"):
        assert checked(wrong) is None


@pytest.mark.parametrize(
    ("sheet", "line"),
    [
        (line_map("delimited", PLACED), b"1.25,63.5"),
        (line_map("delimited", PLACED, 'delimiter = ";"'), b"+1.25 ; 63.5 % ; 7"),
        (line_map("pairs", NAMED), b"load=1.25, soc=63.5%; mode=auto"),
        (line_map("pairs", NAMED), b"t:12:30 load : 1.25 kW".replace(b" kW", b"kW") + b" soc = 63.5"),
        (line_map("pairs", NAMED, 'delimiter = "|"'), b"soc=6.35e1 | load=1.25 kW"),
        (line_map("json", NAMED), b'{"load": 1.25, "soc": "63.5", "name": "K\xc3\xbcche"}'),
        (line_map("json", NAMED.replace('"soc"', '"battery.soc"')), b'{"load":1.25,"battery":{"soc":63.5}}'),
        (line_map("delimited", PLACED, 'checksum = "xor"'), b"$1.25,63.5*%02x" % xor(b"1.25,63.5")),
    ],
)
def test_each_format_says_the_same(sheet, line):
    (readings,), decoder = decoded(sheet, line)
    assert readings == {"load_power": 1250.0, "battery_soc": 63.5}
    assert (decoder.good, decoder.bad) == (1, 0)


@pytest.mark.parametrize(
    ("layout", "line"),
    [
        ("delimited", b"1.2x5,63.5"),
        ("delimited", b"1.25"),
        ("delimited", b"0x12,50"),
        ("delimited", b"1_0,50"),
        ("delimited", "١٢,50".encode()),
        ("delimited", b"1.25,63\x00.5"),
        ("delimited", b"1.25,63.5\xff"),
        ("pairs", b"load=1.25 soc=50load=1.3 soc=51"),
        ("pairs", b"load=1.25 load=1.3"),
        ("pairs", b"1.25 soc=50"),
        ("pairs", b"=5 soc=50"),
        ("json", b'{"load":1.25,"soc":63.5'),
        ("json", b'{"load":1.25,"load":3}'),
        ("json", b"[1.25, 63.5]"),
        ("json", b'{"load":[1.25]}'),
        ("json", b'{"load":true}'),
        ("json", b"[" * 5000),
        ("json", b'{"load":' + b"9" * 400 + b"}"),
    ],
)
def test_what_is_not_understood_is_counted_and_makes_no_value(layout, line):
    (readings,), decoder = decoded(line_map(layout, PLACED if layout == "delimited" else NAMED), line)
    assert readings == {}
    assert (decoder.good, decoder.bad) == (0, 1)


@pytest.mark.parametrize(
    ("layout", "line"),
    [
        ("delimited", b",50"),
        ("delimited", b"--,50"),
        ("delimited", b"ERR,50"),
        ("pairs", b"load=n/a soc=50"),
        ("pairs", b"load= soc=50"),
        ("pairs", b"load = , soc = 50"),
        ("json", b'{"load":null,"soc":50}'),
        ("json", b'{"load":NaN,"soc":50}'),
        # A load of 99,999 kW is no household's: the device, or the map's unit, is wrong.
        ("delimited", b"99999,50"),
    ],
)
def test_a_missing_or_impossible_reading_is_missing_and_its_neighbours_hold(layout, line):
    (readings,), decoder = decoded(line_map(layout, PLACED if layout == "delimited" else NAMED), line)
    assert math.isnan(readings["load_power"])
    assert readings["battery_soc"] == 50.0
    assert decoder.bad == 0


def test_signs_units_and_switches():
    fields = """
        [[field]]
        channel = "battery_power"
        name = "p"
        sign = -1
        [[field]]
        channel = "battery_temperature"
        name = "t"
        unit = "°F"
        [[field]]
        channel = "charger_enabled"
        name = "on"
    """
    sheet = line_map("pairs", fields)
    (one, other), _ = decoded(sheet, b"p=250 t=212 on=off", b"p=-5 t=32 on=1")
    assert one == {
        "battery_power": -250.0,
        "battery_temperature": pytest.approx(100.0),
        "charger_enabled": 0.0,
    }
    assert other["battery_temperature"] == pytest.approx(0.0, abs=1e-9)
    assert other["charger_enabled"] == 1.0


def test_lines_of_several_kinds_are_told_apart_by_their_first_cell():
    fields = """
        [[field]]
        channel = "load_power"
        name = "AC"
        index = 2
        [[field]]
        channel = "battery_soc"
        name = "DC"
        index = 1
    """
    found, decoder = decoded(
        line_map("delimited", fields), b"AC,230,900", b"DC,55", b"GEN,1,2", b"AC,231,901"
    )
    assert found == [{"load_power": 900.0}, {"battery_soc": 55.0}, {}, {"load_power": 901.0}]
    assert (decoder.good, decoder.bad, decoder.other) == (3, 0, 1)


def test_two_lines_run_together_are_refused_and_another_layout_is_believed_when_it_comes_twice():
    found, decoder = decoded(
        line_map("delimited", PLACED),
        b"1,50", b"1,501,50", b"1,50", b"2,51,9", b"2,52,9",
    )  # fmt: skip
    assert [sorted(each.values()) for each in found] == [[50, 1000], [], [50, 1000], [], [52, 2000]]
    assert decoder.bad == 2


def test_half_a_line_after_connecting_and_the_line_after_noise_are_not_believed():
    decoder = Decoder(line_map("delimited", PLACED))
    said = [decoder.decode(line) for line in (b"5,63", b"1,50", b"\x00\xfe\x11", b"71,50", b"1,50")]
    assert [bool(each) for each in said] == [False, True, False, False, True]
    decoder.begin()
    assert decoder.decode(b"5,63") == {}


def test_bytes_become_lines_however_they_arrive():
    text = b"\r\n1,2\r\n\n3,4\r5,6\n" + b"x" * 9000 + b"\n7,8\n" + b"y" * 9000 + b"\n9"
    for size in (1, 3, 4096, 50_000):
        cutter = LineCutter()
        lines = [line for at in range(0, len(text), size) for line in cutter.cut(text[at : at + size])]
        assert lines == [b"1,2", b"3,4", b"5,6", b"7,8"]
        assert cutter.torn == 2


SECOND = 10**9


def rows_of(frames):
    return [
        (
            int(frame.time[0]) / SECOND,
            {name: float(value[0]) for name, value in frame.columns.items() if not math.isnan(value[0])},
            dict(frame.skew_s),
        )
        for frame in frames
    ]


def test_what_comes_in_several_lines_becomes_one_row():
    rows = Rows(["load_power", "battery_soc"], 1.0)
    frames = rows.take(SECOND, {"load_power": 1}) + rows.take(SECOND + SECOND // 4, {"battery_soc": 50})
    frames += rows.take(2 * SECOND, {"load_power": 2}) + rows.take(3 * SECOND, {"load_power": 3})
    assert rows.tick(3 * SECOND + SECOND // 2) == []
    frames += rows.tick(4 * SECOND)
    assert rows_of(frames) == [
        (1.25, {"load_power": 1, "battery_soc": 50}, {"load_power": 0.25}),
        (2.0, {"load_power": 2}, {}),
        (3.0, {"load_power": 3}, {}),
    ]


def test_a_channel_that_never_comes_is_not_waited_for_until_it_comes():
    rows = Rows(["load_power", "battery_soc"], 1.0)
    given = [len(rows.take(second * SECOND, {"load_power": second})) for second in range(1, 8)]
    assert given == [0, 1, 1, 2, 1, 1, 1]
    (frame,) = rows.take(8 * SECOND, {"load_power": 8, "battery_soc": 60})
    assert rows_of([frame]) == [(8.0, {"load_power": 8, "battery_soc": 60}, {})]


def test_rows_are_no_closer_than_asked_for():
    rows = Rows(["load_power"], 0.2, least_s=1.0)
    frames = []
    for tick in range(31):
        frames += rows.take(10 * SECOND + tick * SECOND // 5, {"load_power": tick})
    assert [row[:2] for row in rows_of(frames)] == [(10.0 + n, {"load_power": 5 * n}) for n in range(7)]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[line]\nformat = "delimited"\n[[field]]\nchannel = "load_power"', "an index for load_power"),
        (
            '[line]\nformat = "pairs"\n[[field]]\nchannel = "load_power"',
            "a name, and no index, for load_power",
        ),
        ('[line]\nformat = "json"\n[[field]]\nchannel = "load"\nname = "a"', "unknown channel"),
        (
            '[line]\nformat = "json"\n[[field]]\nchannel = "load_power"\nname = "a"\nunit = "V"',
            "fits load_power",
        ),
        ('[line]\nformat = "json"\n[[fields]]\nchannel = "load_power"', "field"),
        ('[line]\nformat = "json"\nfield = []', "field"),
        (
            '[line]\nformat = "xml"\n[[field]]\nchannel = "load_power"\nname = "a"',
            "'delimited', 'pairs' or 'json'",
        ),
        (
            '[line]\nformat = "json"\n' + 2 * '[[field]]\nchannel = "load_power"\nname = "a"\n',
            "load_power comes twice",
        ),
    ],
)
def test_a_map_that_cannot_be_used_is_refused_in_one_line(text, says):
    with pytest.raises(SheetError, match=says) as refused:
        LineMap.parse(text, "line.toml")
    assert str(refused.value).startswith("line.toml: ")
    assert "\n" not in str(refused.value)
