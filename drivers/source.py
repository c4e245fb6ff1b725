"""What a source of live telemetry is: frames of rows, and a state that says what it is doing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from recordings.channels import CHANNELS

Phase = Literal["connecting", "reading", "waiting", "ended"]
"""connecting: reaching for the device; reading: frames come; waiting: until the next try; ended: for good."""


@dataclass(frozen=True, slots=True)
class State:
    """What a source is doing.

    since     UTC nanoseconds of the local clock
    reason    why it waits or has ended, one clause; "" otherwise
    retry_at  when a waiting source tries again, UTC nanoseconds; None otherwise
    """

    phase: Phase
    since: int
    reason: str = ""
    retry_at: int | None = None


@dataclass(frozen=True, slots=True)
class Frame:
    """A few rows as they were read, later than all rows before.

    time     (n,) UTC nanoseconds by the local clock, strictly rising
    columns  channel → (n,) values in the channel's unit and sign; NaN where no fresh reading came
    skew_s   channel → seconds that its reading is older than its row's time, where that is known
    device_time  UTC nanoseconds by the device's own clock for the last row, where it tells
    """

    time: NDArray[np.int64]
    columns: Mapping[str, NDArray[np.float32]]
    skew_s: Mapping[str, float] = field(default_factory=dict)
    device_time: int | None = None


def in_order(channels: Iterable[str]) -> tuple[str, ...]:
    """Channels in the vocabulary's order, each once."""
    wanted = set(channels)
    return tuple(name for name in CHANNELS if name in wanted)


class Source(Protocol):
    """Where live telemetry comes from. Made in one thread, iterated in another; `stop` from any."""

    @property
    def name(self) -> str:
        """What to call it: an address or a device."""
        ...

    @property
    def state(self) -> State:
        """What it is doing now."""
        ...

    @property
    def channels(self) -> tuple[str, ...]:
        """What it gives, in the vocabulary's order, as far as that is known yet: at the latest with its first row.

        A channel whose values are missing for the time being is among them; only devices that come later add
        to it. A recording has its columns by this from the beginning.
        """
        ...

    def frames(self) -> Iterator[Frame]:
        """Frames until it is stopped or has ended for good.

        Reconnects on its own; a lost device is told in `state` and gives rows of NaN or no rows, never a
        repeated old value. SourceError only where no retry can mend it.
        """
        ...

    def stop(self) -> None:
        """Make `frames` end within a second, whatever it is waiting for."""
        ...
