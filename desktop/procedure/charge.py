"""How one charge went so far: when each thing was first seen of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from desktop.charging.stop_kinds import COOL_DOWN_S
from desktop.charging.usual_times import COOLED_S, STEADY_S, WARM_UP_S

_SECOND = 1_000_000_000

_AT_ONCE = round(COOL_DOWN_S * _SECOND)
"""Power that is gone so soon after the set came to rest was there when it did: meters are read in turn."""


@dataclass(slots=True)
class Charge:
    """Times in UTC nanoseconds; None where it wasn't seen.

    shown_from  from when on a person's ticks belong to this charge
    begun       from when on readings belong to it
    dead        when the line was first seen dead, before it was live
    live        when it was first seen live
    in_band     since when frequency and voltage have been in band
    settled     when they had been for STEADY_S
    warm        when it had run for WARM_UP_S besides, without load
    hurried     True where load came while they were out of band
    loaded      when it first gave power
    joined      True where it gave power already when it was first seen
    relieved    since when it has run on without load after it had carried some
    stopped     when it was first seen at rest after it ran
    ran_on_s for how long it had run on without load then; NaN where that wasn't seen
    since    sign → when it came to stand as it does
    spans       sign → (time, level) of each change of live and running
    """

    shown_from: int
    begun: int
    dead: int | None = None
    live: int | None = None
    started: int | None = None
    in_band: int | None = None
    settled: int | None = None
    warm: int | None = None
    hurried: bool = False
    loaded: int | None = None
    joined: bool = False
    carried: int | None = None
    charging: int | None = None
    full: int | None = None
    relieved: int | None = None
    cooled: int | None = None
    stopped: int | None = None
    ran_on_s: float = math.nan
    resumed: int | None = None
    since: dict[str, int] = field(default_factory=dict)
    spans: dict[str, list[tuple[int, float]]] = field(default_factory=lambda: {"live": [], "running": []})

    def tell(self, sign: str, level: float, time: int, levels: dict[str, float]) -> None:
        """A sign has changed. `levels`: how each of them stands, this one included."""
        self.settle(time)
        self.joined |= sign == "loaded" and level > 0 and sign not in self.since
        self.since[sign] = time
        if sign in self.spans:
            self.spans[sign].append((time, level))
        shown = level > 0
        match sign:
            case "live":
                self._live(shown, time)
            case "running":
                self._running(shown, time)
            case "in_band":
                self.in_band = time if shown else None
            case "loaded":
                self._loaded(shown, time, levels)
            case "carried" if shown and self.carried is None:
                self.carried = time
            case _:
                pass
        if levels.get("loaded", 0) > 0:
            self._under_load(time, levels)

    def settle(self, time: int) -> None:
        """What has lasted long enough by this time has come about."""
        cooled = round(COOLED_S * _SECOND)
        if self.loaded is None and self.in_band is not None:
            self._settle_without_load(self.in_band, time)
        if self.cooled is None and self.relieved is not None and self.stopped is None:
            self.cooled = self.relieved + cooled if time - self.relieved >= cooled else None

    def bridge(self, last: int, time: int, levels: dict[str, float]) -> None:
        """No readings came between two instants for a while: nothing is taken to have lasted through that."""
        self.settle(last)
        self.resumed = time
        self.in_band = time if levels.get("in_band", 0) > 0 else None
        if self.relieved is not None and self.stopped is None:
            self.relieved = time

    def resume(self) -> None:
        """The set turns again, and it is the same charge: nothing tells that it was stopped."""
        self.stopped, self.ran_on_s = None, math.nan

    def start_again(self) -> None:
        """The set is started once more, which carried nothing when it ran before."""
        self.resume()
        self.started = self.in_band = self.settled = self.warm = None

    def was(self, sign: str, time: int) -> bool | None:
        """How live or running stood at a time; None where that isn't known."""
        before = [level for at, level in self.spans[sign] if at <= time]
        return before[-1] > 0 if before else None

    def _settle_without_load(self, in_band: int, time: int) -> None:
        steady = in_band + round(STEADY_S * _SECOND)
        if self.settled is None and time >= steady:
            self.settled = steady
        if self.warm is None and self.started is not None:
            warm = max(steady, self.started + round(WARM_UP_S * _SECOND))
            self.warm = warm if time >= warm else None

    def _live(self, shown: bool, time: int) -> None:
        if shown and self.live is None:
            self.live = time
        elif not shown and self.live is None and self.dead is None:
            self.dead = time

    def _running(self, shown: bool, time: int) -> None:
        if shown and self.started is None:
            self.started = time
        elif not shown and self.started is not None and self.stopped is None:
            self.stopped = time
            self.in_band = None
            if self.relieved is not None and self.resumed != time:
                self.ran_on_s = (time - self.relieved) / _SECOND

    def _loaded(self, shown: bool, time: int, levels: dict[str, float]) -> None:
        if not shown:
            self._unloaded(time)
            return
        if self.stopped is None:
            self.relieved = self.cooled = None
        if self.loaded is None:
            self.loaded = time
            self.hurried = not self.joined and self.settled is None and levels.get("in_band") == 0

    def _unloaded(self, time: int) -> None:
        if self.loaded is None:
            return
        if self.stopped is None:
            self.relieved = time
        elif self.relieved is None and self.resumed != self.stopped and time - self.stopped <= _AT_ONCE:
            self.ran_on_s = 0.0

    def _under_load(self, time: int, levels: dict[str, float]) -> None:
        if self.charging is None and levels.get("charging", 0) > 0:
            self.charging = time
        if self.full is None and levels.get("full", 0) > 0:
            self.full = time
