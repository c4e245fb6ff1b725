"""What a review says of how a foreign file was read, and that nothing in it reaches the terminal raw."""

from dataclasses import replace

import numpy as np
import pytest
from days import SECOND, START, session_day

from desktop.review import review
from desktop.review.reading_told import not_understood
from desktop.site import Site
from recordings.provenance import ColumnReading, Provenance, Repairs
from recordings.recording import Recording

FOREIGN = Provenance(
    name="log\x1b[31m.csv",
    columns={
        "load_power": ColumnReading("Haus\n{0} [kW]", "kW", 1, 'by "haus"; unit from the header'),
        "battery_power": ColumnReading("Batt %s", "W", -1, "no unit given, taken as W"),
    },
    ignored=["Status", "x" * 500, *(f"Reg{number}" for number in range(40))],
    repairs=Repairs(bad_rows=3, notes=["stamps carry no offset and no time zone is given: read as UTC"]),
    timezone="UTC",
)


def told(provenance: Provenance) -> str:
    time = START + np.arange(60) * SECOND
    columns = {name: np.full(60, 300.0) for name in ("load_power", "battery_power")}
    return review(Recording.from_columns(time, columns, provenance), Site()).as_text()


def test_every_foreign_column_is_told_with_its_evidence():
    text = told(FOREIGN)
    assert 'load power: "Haus {0} [kW]" in kW (by "haus"; unit from the header).' in text
    assert 'battery power: "Batt %s" in W, counted the other way round (no unit given, taken as W).' in text
    assert "read as UTC" in text
    assert "Rows that could not be read: 3." in text
    assert "Reg9" in text
    assert "Reg10" not in text
    assert "30 more" in text
    assert max(map(len, text.splitlines())) < 400


def test_control_characters_of_names_do_not_reach_the_terminal():
    assert all(line.isprintable() for line in told(FOREIGN).splitlines())


def test_a_file_of_ours_needs_no_word_on_how_it_was_read():
    own = Provenance(
        columns={"load_power": ColumnReading("load_power [W]", "W", 1, "the channel's own name")},
        repairs=Repairs(notes=['times from "time"']),
    )
    assert "How the file was read" not in told(own)


def test_json_holds_notes_and_what_was_left():
    recording = session_day()
    recording.provenance.repairs.notes.append("a note")
    recording.provenance.ignored.append("Status")
    found = review(recording, Site()).as_json()["recording"]
    assert "a note" in found["notes"]
    assert found["ignored"] == ["Status"]
    assert found["repaired"]["bad_rows"] == 0
    assert found["timezone"] is None


def test_an_energy_that_is_known_for_the_smaller_part_only_is_not_known():
    """A set whose power nobody meters gives nothing while it stands, and who knows what while it runs."""
    rows = 4000
    running = np.arange(rows) >= 1000
    columns = {
        "generator_voltage": np.where(running, 230.0, 0.0),
        "generator_frequency": np.where(running, 50.0, 0.0),
        "load_power": np.full(rows, 300.0),
    }
    found = review(Recording.from_columns(START + np.arange(rows) * SECOND, columns), Site())
    energy = found.as_json()["energy_kwh"]
    assert energy["generator"] is None
    assert energy["sd"]["generator"] is None
    assert energy["unknown_s"]["generator"] == pytest.approx(3000, abs=2)
    assert energy["load"] == pytest.approx(0.333, abs=0.001)
    assert "Generator            not known" in found.as_text()


def test_an_energy_that_is_known_for_most_of_the_time_says_for_how_long_not():
    rows = 1000
    load = np.full(rows, 3600.0)
    load[700:] = np.nan
    columns = {"load_power": load}
    found = review(Recording.from_columns(START + np.arange(rows) * SECOND, columns), Site())
    (line,) = [line for line in found.as_text().splitlines() if line.startswith("  House loads")]
    assert line.endswith("not known for 5 min")


def test_a_gap_alone_leaves_energies_known():
    time = START + np.concatenate((np.arange(600), np.arange(20_000, 20_600))) * SECOND
    columns = {"load_power": np.full(1200, 300.0)}
    found = review(Recording.from_columns(time, columns), Site())
    assert found.as_json()["energy_kwh"]["load"] == pytest.approx(0.1, abs=0.001)


def test_columns_that_look_like_measurements_and_were_not_understood_are_told_by_name():
    assert not_understood(Provenance()) is None
    one = str(not_understood(Provenance(unclear=["AC \x1b IN W"])))
    assert one.startswith('A column that looks like a measurement was not understood: "AC � IN W". Assign it')
    two = not_understood(Provenance(unclear=["AC IN W", "AC IN Hz"]))
    assert str(two) == (
        '2 columns that look like measurements were not understood: "AC IN W", "AC IN Hz". Assign them in the site '
        "sheet's [columns], or under File → Columns…"
    )
    many = str(not_understood(Provenance(unclear=[f"X{number} [W]" for number in range(20)])))
    assert many.startswith("20 columns")
    assert '"X7 [W]" and 12 more' in many
    assert "X8" not in many


def test_what_was_not_understood_is_not_told_twice():
    text = told(replace(FOREIGN, ignored=["Status", "AC IN W"], unclear=["AC IN W"]))
    assert "Not used: " + '"Status".' in text
