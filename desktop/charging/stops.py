"""How the generator's runs under load ended: let down gently, or dropped.

A set should be relieved of its load and run on for a while before it is switched off. One that goes from load
to standstill was overloaded, ran dry, or was switched off in a hurry.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from desktop.charging.derating import rated_w
from desktop.charging.stop_evidence import BEFORE_S, Ending, StopEvidence, StopRows, gather
from desktop.charging.stop_kinds import COOL_DOWN_S, Reason, judge
from desktop.charging.tail import Tail
from desktop.flow.block import Block
from desktop.flow.streams import INDEX
from desktop.site import Site

if TYPE_CHECKING:
    # Sessions tell how they stopped, so they may import this module.
    from desktop.charging.sessions import Stop

Floats = NDArray[np.float64]

_WAIT_S = 30.0
_REST_S = 5.0
"""For so long it is looked at how a set comes to rest, where that decides."""

_LOADED_SHARE = 0.15
_LOADED_W = 300.0


class Facts(Protocol):
    """What is learned of a recording, as far as stops need it. NaN or None where not known."""

    @property
    def interval_s(self) -> float: ...
    @property
    def gap_s(self) -> float: ...
    @property
    def volts(self) -> float | None: ...
    @property
    def hz(self) -> float | None: ...


@dataclass(frozen=True, slots=True)
class Halt:
    """The end of carrying load.

    loaded    the last row at which the generator carried load, UTC nanoseconds
    stopped   the first row at which it was known not to
    kind      how; "still running" is not among them
    reason    why it was dropped, where that is known
    before_w  the highest power shortly before, W
    share     that power, or the current of the busiest leg, over what the set can carry, NaN where not known
    lowest_hz the lowest frequency shortly before, NaN where not known
    fuel      the lowest fuel level read around the stop, %, NaN where not known
    settled   when it became clear, UTC nanoseconds
    evidence  all that was measured around it
    """

    loaded: int
    stopped: int
    kind: Stop
    reason: Reason
    before_w: float
    share: float
    lowest_hz: float
    fuel: float
    settled: int
    evidence: StopEvidence = field(compare=False)

    @property
    def dropped(self) -> bool:
        """True where a loaded set went dead, for whatever reason."""
        if self.kind in ("under load", "dry tank"):
            return True
        seen = self.evidence
        return self.kind == "unclear" and not seen.torn and seen.loaded and seen.stood and self._fine

    @property
    def _fine(self) -> bool:
        return self.evidence.interval_s <= COOL_DOWN_S


def carrying_w(site: Site) -> float:
    """The power from which a generator counts as carrying load, W: 2 % of its rating, at least 100 W."""
    rating = rated_w(site)
    return max(100.0, 0.02 * rating) if rating > 0 else 100.0


def generator_w(block: Block) -> Floats:
    """(n,) power of the generator, as metered, else as reconciled; NaN where nothing tells."""
    row = INDEX["generator"]
    metered = block.measured[row]
    lost = np.isnan(metered)
    power: Floats = np.where(lost, block.value[row], metered) if lost.any() else metered
    return power


def turning(block: Block, hz: float, volts: float) -> Floats:
    """(n,) 1 where the generator's terminals show that it runs, 0 where they show that it doesn't, else NaN.

    Frequency above 80 % of nominal decides (no set works below that), else voltage above half of nominal.
    """
    shown = np.full(len(block), np.nan)
    if volts > 0:
        names = [name for name in block.channels if name.startswith("generator_voltage")]
        for name in sorted(names):
            read = block.channels[name]
            shown = np.where(np.isnan(shown), _above(read, 0.5 * volts), shown)
    if hz > 0 and "generator_frequency" in block.channels:
        # Voltmeters of a dead set read something; a frequency of nothing is often not reported at all.
        by_speed = _above(block.channels["generator_frequency"], 0.8 * hz)
        shown = np.where(np.isnan(by_speed), shown, by_speed)
    return shown


def _above(read: Floats, level: float) -> Floats:
    return np.where(np.isnan(read), np.nan, (read > level).astype(np.float64))


@dataclass(frozen=True, slots=True)
class _Drop:
    loaded: int
    stopped: int


class Stops:
    """Finds and classes the ends of carrying load in blocks that follow each other.

    Load must have gone for up to half a minute before a stop is classed as normal, and one that comes back in
    that time was none. The result depends on the rows alone, not on how they were cut into blocks.

    Several may share one: whoever brings a block first has it worked through.
    """

    def __init__(self, facts: Facts, site: Site) -> None:
        self._carry = carrying_w(site)
        self._rated = rated_w(site)
        self._hz = float(facts.hz or math.nan)
        self._volts = float(facts.volts or math.nan)
        self._leg_a = _leg_a(site, self._volts)
        self._interval_s = facts.interval_s
        self._gap = round(facts.gap_s * 1e9)
        self._wait = round(max(_WAIT_S, 2.5 * facts.interval_s) * 1e9)
        self._near_s = max(COOL_DOWN_S, 1.2 * facts.interval_s)
        self._tail = Tail(2 * self._wait / 1e9 + max(BEFORE_S, 4 * self._near_s) + 60)
        self._on = 0
        self._last: int | None = None
        self._open: list[_Drop] = []
        self._until: int | None = None
        self._found: list[Halt] = []
        self.halts: list[Halt] = []

    def extend(self, block: Block) -> list[Halt]:
        """Take the next rows; gives the stops that became clear in them.

        Rows that were taken already as one block are not taken again, and give the same.
        """
        if not len(block):
            return []
        until = int(block.time[-1])
        if self._until is None or until > self._until:
            self._until, self._found = until, self._take(block)
            self.halts.extend(self._found)
        return self._found

    def _take(self, block: Block) -> list[Halt]:
        power = generator_w(block)
        found: list[Halt] = []
        drops = self._drops(block.time, power)
        looked_at = bool(drops or self._open)
        first = self._first(block.time, drops)
        columns = self._columns(block, power, first)
        if looked_at:
            time, joined = self._tail.joined(block.time[first:], columns)
            rows = StopRows(time=time, **joined)
            waiting = sorted([*self._open, *drops], key=lambda drop: drop.loaded)
            self._open = []
            for drop in waiting:
                halt = self._settle(drop, rows)
                if isinstance(halt, _Drop):
                    self._open.append(halt)
                elif halt is not None:
                    found.append(halt)
        self._tail.extend(block.time[first:], columns)
        return found

    def _first(self, time: NDArray[np.int64], drops: list[_Drop]) -> int:
        """The first row that is looked at now or may be later."""
        if self._open:
            return 0
        kept = self._tail.first(time)
        if not drops:
            return kept
        earliest = min(drop.loaded for drop in drops) - round(self._tail.seconds * 1e9)
        return min(kept, _at(time, earliest))

    def _columns(self, block: Block, power: Floats, first: int) -> dict[str, Floats]:
        """The rows from `first` on, as StopRows has them."""
        hz = block.channel("generator_frequency")[first:]
        volts = _highest_of(block, "generator_voltage", first)
        speed = np.where(np.isnan(hz), volts / self._volts, hz / self._hz)
        current = _highest_of(block, "generator_current", first)
        return {
            "power": power[first:],
            "share": np.fmax(power[first:] / self._rated, current / self._leg_a),
            "turning": turning(block, self._hz, self._volts)[first:],
            "speed": speed,
            "hz": hz,
            "charger": _read(block, "converter_ac", first),
            "load": _read(block, "load", first),
            "fuel": block.channel("fuel_level")[first:],
        }

    def kind_at(self, end: int) -> Stop:
        """How a run ended whose last row under load is `end` (UTC nanoseconds)."""
        kind: Stop = "still running" if self._on > 0 and not self._open else "unclear"
        for halt in reversed(self.halts):
            if halt.stopped < end:
                break
            kind = halt.kind if halt.loaded - end <= self._wait else "unclear"
        return kind

    def _drops(self, time: NDArray[np.int64], power: Floats) -> list[_Drop]:
        known = np.flatnonzero(~np.isnan(power))
        if not known.size:
            return []
        read = power[known]
        if self._on <= 0 and not (read > self._carry).any():
            self._on, self._last = -1 if (read < self._carry / 2).any() else self._on, int(time[known[-1]])
            return []
        said = (read > self._carry).astype(np.int8) - (read < self._carry / 2)
        latest = np.maximum.accumulate(np.where(said != 0, np.arange(known.size), -1))
        state = np.where(latest >= 0, said[latest], self._on)
        before = np.concatenate(([self._on], state[:-1]))
        stamps = time[known]
        drops = [
            _Drop(int(stamps[row - 1]) if row else int(self._last or stamps[row]), int(stamps[row]))
            for row in np.flatnonzero((before > 0) & (state < 0)).tolist()
        ]
        self._on, self._last = int(state[-1]), int(stamps[-1])
        return drops

    def _settle(self, drop: _Drop, rows: StopRows) -> Halt | _Drop | None:
        if drop.stopped - drop.loaded > self._gap:
            return self._halt(drop, drop.stopped, rows, stood=None, torn=True)
        first = int(np.searchsorted(rows.time, drop.loaded, side="right"))
        after = rows.time[first:]
        stood = _first(rows.turning[first:] == 0)
        back = _first((rows.power[first:] > self._carry) & (after > drop.stopped))
        late = _first(after >= drop.stopped + self._wait)
        ends = [row for row in (stood, back, late) if row is not None]
        if not ends:
            return drop
        if back is not None and back == min(ends) and stood != back:
            return None
        settled = int(after[max(min(ends), _at(after, drop.stopped))])
        torn = settled - drop.stopped > self._wait + self._gap
        seen = None if stood is None or stood > min(ends) else int(after[stood])
        halt = self._halt(drop, settled, rows, stood=seen, torn=torn)
        if seen is None or not math.isnan(halt.evidence.sank_s):
            return halt
        rest = _first(after >= settled + round(_REST_S * 1e9))
        return drop if rest is None else self._halt(drop, int(after[rest]), rows, stood=seen, torn=torn)

    def _halt(self, drop: _Drop, settled: int, rows: StopRows, *, stood: int | None, torn: bool) -> Halt:
        end = Ending(drop.loaded, drop.stopped, settled, stood, self._near_s, self._light_w, torn)
        seen = gather(rows, end, self._interval_s)
        kind, reason = judge(seen)
        return Halt(
            drop.loaded,
            drop.stopped,
            kind,
            reason,
            seen.before_w,
            seen.share,
            seen.lowest_hz,
            seen.fuel,
            settled,
            seen,
        )

    @property
    def _light_w(self) -> float:
        return _LOADED_SHARE * self._rated if self._rated > 0 else _LOADED_W


def _leg_a(site: Site, volts: float) -> float:
    """The current that one leg of the set can carry by its plate, A; NaN where not known.

    The alternator is bound to its plate; only the engine suffers from thin air.
    """
    generator = site.generator
    if generator.rated_w is None:
        return math.nan
    return generator.rated_w / (generator.power_factor * volts * generator.legs)


def _highest_of(block: Block, channel: str, first: int) -> Floats:
    """(n,) the highest of a channel and its legs, from row `first` on; NaN where none is read."""
    names = sorted(name for name in block.channels if name.startswith(channel))
    if not names:
        return np.full(len(block) - first, np.nan)
    highest: Floats = np.fmax.reduce([np.abs(block.channels[name][first:]) for name in names])
    return highest


def _read(block: Block, stream: str, first: int) -> Floats:
    """(n,) a stream as metered, else as reconciled, from row `first` on."""
    row = INDEX[stream]
    metered = block.measured[row, first:]
    lost = np.isnan(metered)
    power: Floats = np.where(lost, block.value[row, first:], metered) if lost.any() else metered
    return power


def _first(true: NDArray[np.bool_]) -> int | None:
    row = int(np.argmax(true)) if true.size else 0
    return row if true.size and true[row] else None


def _at(time: NDArray[np.int64], instant: int) -> int:
    return int(np.searchsorted(time, instant))
