"""Running a plant in step with the clock, or some times faster."""

from __future__ import annotations

import threading
from collections.abc import Callable

from drivers.timing import Timing
from drivers.wire.live import LivePlant, Reading

_MOST_BEHIND_S = 1.0


def run(
    plant: LivePlant,
    publish: Callable[[Reading], None],
    stopped: threading.Event,
    *,
    speed: float = 1.0,
    timing: Timing | None = None,
) -> None:
    """Read the meters at each of the plant's stamps and publish what they say, until `stopped` is set.

    A plant that is asked to run faster than this computer can goes as fast as it can.

    speed  plant seconds per second
    """
    timing = timing or Timing()
    interval_s = plant.interval_s / speed
    due = timing.monotonic()
    while not stopped.is_set():
        publish(plant.next())
        due += interval_s
        left = due - timing.monotonic()
        if left > 0:
            timing.wait(stopped, left)
        elif left < -_MOST_BEHIND_S:
            due = timing.monotonic()
