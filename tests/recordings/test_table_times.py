"""Times as loggers write them: formats, offsets, daylight saving, order."""

import numpy as np
import pytest
from tables_help import seconds, values

from recordings.errors import ReadError


def table(*stamps: str, header: str = "time", delimiter: str = ",") -> str:
    rows = [f"{stamp}{delimiter}{place}" for place, stamp in enumerate(stamps)]
    return "\n".join([f"{header}{delimiter}Load [W]", *rows]) + "\n"


AT_TWO = ["2026-02-14T14:03:20", "2026-02-14T14:03:21"]
FORMS = [
    ("2026-02-14T14:03:20Z", "2026-02-14T14:03:21Z"),
    ("2026-02-14 14:03:20", "2026-02-14 14:03:21"),
    ("2026-02-14T16:03:20+02:00", "2026-02-14T16:03:21+02:00"),
    ("2026-02-14 09:03:20 -0500", "2026-02-14 09:03:21 -0500"),
    ("2026-02-14T14:03:20.000Z", "2026-02-14T15:03:21,0+01"),
    ("2026/02/14 14:03:20", "2026/2/14 14:03:21"),
    ("14.02.2026 14:03:20", "14.02.2026 14:03:21"),
    ("14.2.26, 14:03:20", "14.2.26, 14:03:21"),
    ("14/02/2026 14:03:20", "14/02/2026 14:03:21"),
    ("2/14/2026 2:03:20 PM", "2/14/2026 2:03:21 PM"),
    ("02/14/2026 02:03:20pm", "02/14/2026 02:03:21pm"),
    ("14-Feb-2026 14:03:20", "14-Feb-2026 14:03:21"),
    ("14 février 2026 14:03:20", "14 févr. 2026 14:03:21"),
    ("Feb 14, 2026 2:03:20 p.m.", "February 14, 2026 2:03:21 p.m."),
    ("Sat, 14 Feb 2026 14:03:20 GMT", "Sat, 14 Feb 2026 14:03:21 GMT"),
    ("20260214T140320Z", "20260214T140321Z"),
    ("20260214140320", "20260214140321"),
    ("1771077800", "1771077801"),
    ("1771077800.0", "1771077801.0"),
    ("1771077800000", "1771077801000"),
    ("1771077800000000", "1771077801000000"),
    ("1771077800000000000", "1771077801000000000"),
]


@pytest.mark.parametrize("stamps", FORMS, ids=[each[0] for each in FORMS])
def test_forms(read, stamps):
    recording = read(table(*stamps, delimiter=";"))
    assert seconds(recording) == AT_TWO
    assert values(recording, "load_power") == [0, 1]


# RFC 3339, section 5.8 (quoted from memory).
def test_rfc_3339_examples(read):
    recording = read(table("1985-04-12T23:20:50.52Z", "1990-12-31T23:59:60Z", "1996-12-19T16:39:57-08:00"))
    assert [str(stamp) for stamp in recording.time.astype("datetime64[ns]")] == [
        "1985-04-12T23:20:50.520000000",
        "1991-01-01T00:00:00.000000000",
        "1996-12-20T00:39:57.000000000",
    ]


def test_nanoseconds_of_epochs_and_iso_stamps_survive(read):
    recording = read(table("1771077800.123456789", "1771077801.5"))
    assert recording.time.tolist() == [1771077800123456789, 1771077801500000000]
    recording = read(table("2026-02-14T14:03:20.123456789Z", "2026-02-14 14:03:21.000000001 Z"))
    assert recording.time.tolist() == [1771077800123456789, 1771077801000000001]


@pytest.mark.parametrize(
    "text",
    [
        "Datum;Uhrzeit;Last [W]\n14.02.2026;14:03:20;0\n14.02.2026;14:03:21;1\n",
        "Uhrzeit;Datum;Last [W]\n14:03:20;14.02.2026;0\n14:03:21;14.02.2026;1\n",
        "date,time,Load [W]\n2026-02-14,2:03:20 PM,0\n2026-02-14,2:03:21 PM,1\n",
        "date,time,Load [W]\n20260214,140320,0\n20260214,140321,1\n",
        "no,date,status,time,Load [W]\n1,2026-02-14,ok,14:03:20,0\n2,2026-02-14,ok,14:03:21,1\n",
    ],
)
def test_date_and_time_in_two_columns(read, text):
    recording = read(text)
    assert seconds(recording) == AT_TWO
    assert values(recording, "load_power") == [0, 1]


def test_a_column_in_utc_goes_before_one_in_local_time(read):
    text = (
        "Local time,Time (UTC),Load [W]\n2026-02-14 15:03:20,2026-02-14 14:03:20,0\n"
        "2026-02-14 15:03:21,2026-02-14 14:03:21,1\n"
    )
    recording = read(text, timezone="Europe/Berlin")
    assert seconds(recording) == AT_TWO
    assert recording.provenance.timezone == ""


def test_an_offset_in_the_header(read):
    assert seconds(read(table("2026-02-14 16:03:20", "2026-02-14 16:03:21", header="time [UTC+2]"))) == AT_TWO


def test_local_times_by_the_zone_or_as_utc_and_said_so(read):
    text = table("2026-07-14 16:00", "2026-07-14 16:01")
    berlin = read(text, timezone="Europe/Berlin")
    assert seconds(berlin) == ["2026-07-14T14:00:00", "2026-07-14T14:01:00"]
    assert berlin.provenance.timezone == "Europe/Berlin"
    plain = read(text)
    assert seconds(plain)[0] == "2026-07-14T16:00:00"
    assert plain.provenance.timezone == "UTC"
    assert any("read as UTC" in note for note in plain.provenance.repairs.notes)


@pytest.mark.parametrize(
    ("stamps", "first"),
    [
        (("01/02/2026 10:00", "13/02/2026 10:00"), "2026-02-01"),
        (("01/02/2026 10:00", "01/13/2026 10:00"), "2026-01-02"),
        (("01/02/2026 23:59", "02/02/2026 00:00"), "2026-02-01"),
        (("01/31/2026 23:59", "02/01/2026 00:00"), "2026-01-31"),
        (("02/02/2026 10:00", "02/02/2026 10:01"), "2026-02-02"),
        (("01.02.2026 10:00", "01.02.2026 10:01"), "2026-02-01"),
        (("25-12-30 10:00", "25-12-31 10:00", "26-01-01 10:00"), "2025-12-30"),
    ],
)
def test_day_or_month_first_is_settled_by_the_whole_column(read, stamps, first):
    assert seconds(read(table(*stamps)))[0].startswith(first)


def test_day_first_as_told(read):
    text = table("01/02/2026 10:00", "01/02/2026 10:01")
    assert seconds(read(text, day_first=True))[0] == "2026-02-01T10:00:00"
    assert seconds(read(text, day_first=False))[0] == "2026-01-02T10:00:00"


@pytest.mark.parametrize(
    ("zone", "day", "utc"),
    [
        ("Europe/Berlin", "2023-10-29 ", "2023-10-28T23:00"),
        ("America/New_York", "2023-11-05 ", "2023-11-05T04:00"),
    ],
)
def test_the_hour_that_comes_twice(read, zone, day, utc):
    twice = ["01", "02", "02", "03"] if zone == "Europe/Berlin" else ["00", "01", "01", "02"]
    stamps = [f"{day}{hour}:{minute:02d}" for hour in twice for minute in range(0, 60, 5)]
    recording = read(table(*stamps), timezone=zone)
    assert seconds(recording)[0].startswith(utc)
    assert set(np.diff(recording.time).tolist()) == {300_000_000_000}
    assert values(recording, "load_power") == list(range(48))
    assert not recording.provenance.repairs.clock_jumps


@pytest.mark.parametrize(
    ("minutes", "steps"),
    [
        # Rows are missing on both sides of the step back.
        (["02:50", "02:55", "02:10", "02:15", "02:20"], [5, 15, 5, 5]),
        # One row an hour: the same clock time twice.
        (["00:00", "01:00", "02:00", "02:00", "03:00"], [60, 60, 60, 60]),
        # No second pass was recorded: daylight time until the clock goes back.
        (["02:00", "02:30", "04:00"], [30, 150]),
        # The file begins inside the hour.
        (["02:30", "02:00", "02:30", "03:00"], [30, 30, 30]),
    ],
)
def test_the_first_pass_is_daylight_time_until_the_clock_goes_back(read, minutes, steps):
    recording = read(table(*[f"2023-10-29 {minute}" for minute in minutes]), timezone="Europe/Berlin")
    assert (np.diff(recording.time) // 60_000_000_000).tolist() == steps


def test_a_late_row_in_the_repeated_hour_is_no_second_pass(read):
    stamps = [f"2023-10-29 02:00:{second:02d}" for second in (0, 1, 2, 4, 3, 5, 6)]
    recording = read(table(*stamps), timezone="Europe/Berlin")
    assert np.diff(recording.time).tolist() == [10**9] * 6
    assert recording.provenance.repairs.out_of_order == 1


@pytest.mark.parametrize(
    ("zone", "before", "after"),
    [
        ("Europe/Berlin", "2024-03-31 01:59:59", "2024-03-31 03:00:00"),
        ("America/New_York", "2024-03-10 01:59:59", "2024-03-10 03:00:00"),
    ],
)
def test_the_hour_that_spring_skips(read, zone, before, after):
    assert np.diff(read(table(before, after), timezone=zone).time).tolist() == [10**9]


def test_a_clock_put_forward_a_little_late(read):
    stamps = ["01:59", "02:00", "02:01", "02:02", "03:03", "03:04"]
    recording = read(table(*[f"2024-03-31 {stamp}" for stamp in stamps]), timezone="Europe/Berlin")
    assert set(np.diff(recording.time).tolist()) == {60_000_000_000}


def test_offsets_that_change_within_a_file(read):
    recording = read(table("2023-10-29T02:59:59+02:00", "2023-10-29T02:00:00+01:00"))
    assert np.diff(recording.time).tolist() == [10**9]


def at(*minutes: int) -> str:
    return table(*[f"2026-02-14T10:{minute:02d}Z" for minute in minutes])


def test_late_rows_are_sorted_in(read):
    recording = read(at(0, 1, 3, 2, 4, 5))
    assert values(recording, "load_power") == [0, 1, 3, 2, 4, 5]
    assert recording.provenance.repairs.out_of_order == 1
    assert recording.provenance.repairs.duplicates == 0


def test_of_repeated_instants_the_last_reading_stays(read):
    text = "time,Load [W],PV [W]\n" + "".join(
        f"2026-02-14T10:{row}\n" for row in ("00Z,1,", "00Z,,7", "01Z,2,8", "01Z,3,", "02Z,4,9")
    )
    recording = read(text)
    assert values(recording, "load_power") == [1, 3, 4]
    assert values(recording, "solar_power") == [7, 8, 9]
    assert recording.provenance.repairs.duplicates == 2


def test_a_file_from_the_newest_row_to_the_oldest(read):
    recording = read(at(5, 4, 3, 2, 1))
    assert values(recording, "load_power") == [4, 3, 2, 1, 0]
    assert recording.provenance.repairs.out_of_order == 0


def test_a_clock_that_went_back_keeps_the_first_pass(read):
    recording = read(at(*range(20), *range(10, 30)))
    assert len(recording) == 30
    jumps = recording.provenance.repairs.clock_jumps
    assert [(jump.before // 60_000_000_000 % 60, jump.after // 60_000_000_000 % 60) for jump in jumps] == [
        (19, 10)
    ]
    assert values(recording, "load_power")[10:20] == [*range(10, 19), 29]


def test_files_joined_in_the_wrong_order_are_no_clock_jump(read):
    recording = read(at(*range(30, 50), *range(10, 25)))
    assert len(recording) == 35
    assert recording.provenance.repairs.clock_jumps == []
    assert recording.provenance.repairs.out_of_order == 15


@pytest.mark.parametrize(("stamp", "shift"), [("instant", 0), ("start", 450), ("end", -450)])
def test_stamps_of_intervals_move_to_their_middle(read, stamp, shift):
    recording = read(at(0, 15, 30, 45), stamp=stamp)
    assert recording.time[0] // 10**9 - 1771063200 == shift
    assert any(f"the {stamp} of an interval" in note for note in recording.provenance.repairs.notes) == bool(
        shift
    )


@pytest.mark.parametrize(
    ("stamp", "utc"),
    [
        ("2025-10-26 02:30:00 CEST", "2025-10-26T00:30:00"),
        ("2025-10-26 02:30:00 CET", "2025-10-26T01:30:00"),
        ("26.10.2025 02:30 MESZ", "2025-10-26T00:30:00"),
        ("11/27/2025 01:30:00 AM EST", "2025-11-27T06:30:00"),
        ("11/27/2025 01:30:00 PM PDT", "2025-11-27T20:30:00"),
    ],
)
def test_abbreviations_of_zones_that_mean_one_thing(read, stamp, utc):
    later = stamp.replace("30", "31", 1)
    recording = read(f"Time;Load [W]\n{stamp};1\n{later};2\n", timezone="Asia/Tokyo")
    assert seconds(recording)[0] == utc


def test_an_abbreviation_that_means_several_zones_is_refused(read):
    with pytest.raises(ReadError, match=r"no dates or times.*\+05:30"):
        read("Time;Load [W]\n2025-10-26 02:30:00 IST;1\n2025-10-26 02:31:00 IST;2\n")


@pytest.mark.parametrize(
    "stamp",
    [
        "0001-01-01T00:00:0{}Z",
        "1969-12-31 23:59:0{}",
        "9999-12-31T23:59:0{}Z",
        "2261-12-31 00:00:0{}",
        "01.01.0001 10:00:0{}",
    ],
)
def test_years_that_no_recording_has(read, stamp):
    with pytest.raises(ReadError, match=r"no time; expected a time of the years 1970 to 2199|too few rows"):
        read("time;Load [W]\n" + "".join(f"{stamp.format(row)};5\n" for row in range(9)))


def test_a_row_of_such_a_year_is_left_out_and_counted(read):
    rows = "".join(f"2026-02-14T10:00:{row:02d}Z;5\n" for row in range(40))
    recording = read("time;Load [W]\n" + rows + "0001-01-01T00:00:00Z;9\n")
    assert len(recording) == 40
    assert recording.provenance.repairs.bad_rows == 1


@pytest.mark.parametrize("epoch", ["999999999999999999{}", "899999999999999900{}"])
def test_epochs_beyond_reach(read, epoch):
    with pytest.raises(ReadError, match="9 cells that are no time"):
        read("epoch;Load [W]\n" + "".join(f"{epoch.format(row)};5\n" for row in range(9)))
