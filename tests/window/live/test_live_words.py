"""What is said of a source, a lull and a recording, and where a form leads, as plain words."""

import math
from datetime import UTC
from pathlib import Path

import pytest

from desktop.live.recording import Recorded
from desktop.review import review
from desktop.site import Site
from desktop.window.live import state_words
from desktop.window.live.connect.target import Target, save
from desktop.window.live.lull import Lull, as_of_then
from desktop.window.live.watching import last_read
from desktop.window.live.wish import Wish
from desktop.window.settings import Forgotten, Settings
from drivers.probe.found import Found, FoundDevice
from drivers.source import State
from recordings.errors import HeadraceError
from recordings.recording import Recording

S = 1_000_000_000


def test_a_source_that_waits_says_why_and_when_it_tries_again():
    waiting = State("waiting", 0, "nothing listens there", 3 * S + 1)
    assert state_words.state_text(waiting, "Barn", waiting.reason, S) == (
        "Barn: nothing listens there; next try in 3 s"
    )
    assert state_words.state_text(waiting, "Barn", waiting.reason, 9 * S).endswith("next try in 0 s")
    assert state_words.state_text(State("reading", 0), "Barn", "", S) == "Barn"
    assert state_words.state_text(State("ended", 0), "Barn", "it stopped", S) == "Barn: it stopped"


@pytest.mark.parametrize(
    ("phase", "stale", "word"),
    [
        ("reading", False, "Reading"),
        ("reading", True, "Stale"),
        ("waiting", True, "Waiting"),
        ("connecting", False, "Connecting"),
        ("ended", True, "Ended"),
    ],
)
def test_one_word_says_what_it_is_doing(phase, stale, word):
    assert state_words.phase_word(phase, stale) == word


def test_the_age_of_the_newest_reading_is_told_in_whole_seconds():
    assert state_words.age_text(math.nan) == "no reading yet"
    assert state_words.age_text(0.4) == "newest reading 0 s ago"
    assert state_words.age_text(61.9) == "newest reading 61 s ago"


def test_a_recording_tells_its_file_its_rows_and_its_trouble():
    path = (Path("a") / "farm.csv",)
    assert state_words.recorded_text(None, False) == ""
    assert state_words.recorded_text(Recorded((), 0, 0, 0, ""), True) == "recording begins"
    assert state_words.recorded_text(Recorded(path, 1204, 3, 0, ""), True) == "farm.csv: 1\u202f204 rows"
    assert state_words.recorded_text(Recorded(path, 12, 0, 0, ""), False) == "farm.csv: 12 rows, closed"
    assert state_words.recorded_text(Recorded(path, 12, 9, 0, "the disk is full"), True) == "the disk is full"


def small(values: list[float]) -> Recording:
    return Recording.from_columns(
        [1_800_000_000 * S + row * S for row in range(len(values))],
        {"load_power": values, "battery_power": [-value for value in values]},
    )


def test_in_a_lull_nothing_is_claimed_of_now():
    recording = small([500.0] * 20 + [math.nan] * 3)
    since = last_read(recording)
    assert since == int(recording.time[19])
    found = review(recording, Site())
    moment = as_of_then(found.moment(since), Lull(since, "no answer"), UTC)
    assert moment.stale
    assert moment.severity == "attend"
    assert str(moment.headline) == "Readings have stopped coming: what flows now is not known."
    assert str(moment.detail) == "What is shown was read at 08:00:19. Why: no answer."
    assert moment.streams["load"].value == pytest.approx(500.0, rel=0.1)
    assert all(math.isnan(limit.value) and limit.state == "not known" for limit in moment.limits)


@pytest.mark.parametrize(
    ("target", "address"),
    [
        (Target("network", " 10.0.0.5 "), "modbus-tcp://10.0.0.5"),
        (Target("network", "barn:1502", "1, 2"), "modbus-tcp://barn:1502?unit=1,2"),
        (Target("network", "barn", baud="9600"), "modbus-tcp://barn"),
        (Target("serial", "/dev/ttyUSB0", "3", "19200"), "modbus-rtu:///dev/ttyUSB0?unit=3&baud=19200"),
        (Target("serial", "COM3", baud="9600"), "modbus-rtu://COM3?baud=9600"),
        (Target("lines", "/dev/ttyS1", "3", "115200"), "serial:///dev/ttyS1?baud=115200"),
        (Target("network", "modbus-rtu://barn:4001?unit=1"), "modbus-rtu://barn:4001?unit=1"),
        (Target("text", "serial:///dev/ttyS1?map=a.toml"), "serial:///dev/ttyS1?map=a.toml"),
        (Target("network", "  "), ""),
    ],
)
def test_a_form_becomes_an_address(target, address):
    assert target.address == address


def test_a_maps_file_is_named_by_its_whole_path(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    where = (tmp_path / "my map.toml").as_posix().replace(" ", "%20")
    assert Target("network", "barn", map="my map.toml").address == f"modbus-tcp://barn?map={where}"


def device(unit: int) -> FoundDevice:
    source = f"modbus-tcp://barn?unit={unit}"
    return FoundDevice(source, unit, "", (201,), "", (), None, "", ("generator", "load"))


def test_devices_are_written_into_a_new_sheet_and_added_to_one_that_is_there(tmp_path):
    found = Found("modbus-tcp://barn", (device(1), device(2)))
    path = tmp_path / "barn.toml"
    save(found, {device(1).source: "generator"}, path)
    assert path.read_text().startswith("[[device]]")
    path.write_text('# mine\n[site]\nname = "Barn"\n\n' + path.read_text())
    save(found, {device(2).source: "load"}, path)
    site = Site.load(path)
    assert [(each.source, each.role) for each in site.device] == [
        (device(1).source, "generator"),
        (device(2).source, "load"),
    ]
    assert site.site.name == "Barn"
    assert path.read_text().startswith("# mine\n")


def test_what_is_no_site_sheet_is_left_as_it_is(tmp_path):
    path = tmp_path / "other.toml"
    path.write_text("[generatr]\nx = 1\n")
    with pytest.raises(HeadraceError, match="generatr"):
        save(Found("a", (device(1),)), {device(1).source: "load"}, path)
    assert path.read_text() == "[generatr]\nx = 1\n"


def test_sources_are_remembered_the_last_first_each_once(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    settings = Settings(Forgotten())
    assert settings.sources == []
    for source in ("modbus-tcp://a", "barn.toml", "modbus-tcp://a"):
        settings.remember_source(Wish(source, to=Path("kept.csv")))
    assert [wish.source for wish in settings.sources] == ["modbus-tcp://a", str(tmp_path / "barn.toml")]
    # What is recorded once isn't recorded again by itself.
    assert all(wish.to is None for wish in settings.sources)
    assert [wish.name for wish in settings.sources] == ["modbus-tcp://a", "barn.toml"]
    settings.forget_sources()
    assert settings.sources == []
    settings._store.setValue("live/sources", "{nonsense")
    assert settings.sources == []
