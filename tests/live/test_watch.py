"""Watching a live system: what is watched is what a review of its recording says."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from likeness import close

from desktop.live.frames import joined
from desktop.live.opening import open_live, open_watch
from desktop.live.watch import Watch
from desktop.opening import default_demo, open_recording
from desktop.review import review
from desktop.site import Site
from drivers.plant.export import scenario
from drivers.played import PlayedSource
from drivers.source import Frame
from drivers.wire.faults import Faults
from drivers.wire.live import LivePlant
from drivers.wire.server import WireServer
from drivers.wire.serving import Served
from drivers.wire.sheet import device_entries, site_with_devices
from recordings.errors import HeadraceError
from recordings.recording import Recording

PATIENCE_S = 20.0


def wait_for(done: Callable[[], bool]) -> None:
    ends = time.monotonic() + PATIENCE_S
    while not done():
        assert time.monotonic() < ends, "waited in vain"
        time.sleep(0.01)


def taken(watch: Watch, rows: int) -> None:
    """Take until so many rows are there."""

    def enough() -> bool:
        watch.take()
        return len(watch.recording) >= rows

    wait_for(enough)


def played(speed: float = math.inf) -> tuple[Watch, Recording, Site]:
    recording, site = open_recording(default_demo())
    return Watch(PlayedSource(recording, speed=speed, shifted=False), site), recording, site


def test_a_played_recording_is_reviewed_like_the_file() -> None:
    watch, recording, site = played()
    watch.start()
    taken(watch, len(recording))
    assert watch.review is not None
    watch.review.settle()
    found, expected = watch.review.as_json(), review(recording, site).as_json()
    for key in ("findings", "sessions", "energy_kwh", "balance"):
        close(found[key], expected[key], key)
    assert watch.stop()


def test_what_was_watched_before_is_recorded_too(tmp_path: Path) -> None:
    watch, recording, _ = played(speed=2000.0)
    watch.start()
    taken(watch, 500)
    target = tmp_path / "watched.csv"
    watch.record(target)
    taken(watch, len(recording))
    wait_for(lambda: watch.recorded is not None and watch.recorded.rows >= 500)
    assert watch.stop()
    told = watch.recorded
    assert told is not None
    assert told.rows == len(recording)
    assert not told.active
    assert not told.trouble
    assert told.paths == (target,)
    again, _ = open_recording(target)
    assert again.channels == recording.channels
    np.testing.assert_array_equal(again.time, recording.time)
    for name in recording.channels:
        np.testing.assert_array_equal(again.column(name), recording.column(name))


def test_recording_can_be_ended_and_begun_again(tmp_path: Path) -> None:
    watch, recording, _ = played(speed=2000.0)
    watch.start()
    taken(watch, 50)
    watch.record(tmp_path / "one.csv")
    wait_for(lambda: watch.recorded is not None and watch.recorded.rows + watch.recorded.waiting > 0)
    watch.stop_recording()
    wait_for(lambda: watch.recorded is not None and not watch.recorded.active)
    watch.record(tmp_path / "two.csv")
    taken(watch, len(recording))
    watch.stop()
    one, _ = open_recording(tmp_path / "one.csv")
    two, _ = open_recording(tmp_path / "two.csv")
    assert 50 <= len(one) <= len(two) == len(recording)


def test_a_target_that_cannot_be_written_is_told_and_watching_goes_on(tmp_path: Path) -> None:
    watch, recording, _ = played()
    (tmp_path / "file").write_text("no folder")
    watch.start()
    watch.record(tmp_path / "file" / "x.csv")
    taken(watch, len(recording))
    wait_for(lambda: watch.recorded is not None and bool(watch.recorded.trouble))
    assert "file" in watch.recorded.trouble
    assert watch.stop()


def test_stopping_leaves_no_thread() -> None:
    before = threading.active_count()
    watch, _, _ = played(speed=1.0)
    watch.start()
    wait_for(lambda: watch.state.phase == "reading")
    assert watch.stop()
    assert threading.active_count() == before


def test_rows_that_are_not_later_are_left_out_and_missing_channels_are_nan() -> None:
    def frame(times: list[int], **columns: list[float]) -> Frame:
        return Frame(
            np.array(times, np.int64), {name: np.array(each, np.float32) for name, each in columns.items()}
        )

    stamps, columns = joined(
        [frame([5, 6], load_power=[1, 2]), frame([6, 8], battery_soc=[3, 4]), frame([7], load_power=[5])], 5
    )
    assert stamps.tolist() == [6, 8]
    assert columns["load_power"][0] == 2
    assert np.isnan(columns["load_power"][1])
    assert np.isnan(columns["battery_soc"][0])
    assert columns["battery_soc"][1] == 4


def test_what_means_nothing_is_refused_in_one_line(tmp_path: Path) -> None:
    for text in ("modbus-tcp://", "ftp://x", str(tmp_path / "no.toml"), str(tmp_path / "no.csv")):
        with pytest.raises(HeadraceError) as told:
            open_live(text)
        assert "\n" not in str(told.value)


def test_a_plant_on_the_wire_is_watched_as_a_review_of_its_recording_sees_it(tmp_path: Path) -> None:
    plant = LivePlant(scenario("load-step"), None, 10.0)
    faults = Faults([], time.monotonic, 0)
    served = Served(plant, faults, speed=100.0)
    with WireServer("127.0.0.1", 0, served.units, faults) as server:
        where = "modbus-tcp://{}:{}".format(*server.address)
        entries = device_entries(where, [(device.unit, device.role, "") for device in served.devices])
        sheet = tmp_path / "mill.toml"
        sheet.write_text(site_with_devices(plant.scenario, entries), encoding="utf-8")
        watch = open_watch(str(sheet), interval_s=0.1).start()
        running = threading.Event()

        def run() -> None:
            while not running.wait(0.1):
                served.publish(plant.next())

        thread = threading.Thread(target=run)
        thread.start()
        try:
            taken(watch, 20)
            watch.record(tmp_path / "day.csv")
            taken(watch, 80)
        finally:
            running.set()
            thread.join()
            assert watch.stop()
        watch.take()
    assert watch.review is not None
    watch.review.settle()
    again, _ = open_recording(tmp_path / "day.csv", sheet)
    assert len(again) == len(watch.recording)
    found, expected = watch.review.as_json(), review(again, watch.site).as_json()
    for key in ("findings", "sessions", "energy_kwh", "balance"):
        close(found[key], expected[key], key)
    assert expected["energy_kwh"]["load"] > 0
