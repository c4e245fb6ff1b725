"""Puts together everything that is shown of one instant."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from desktop.charging.counter import session_of
from desktop.charging.currents import leg_currents
from desktop.charging.sessions import Session
from desktop.charging.stops import turning
from desktop.diagnosis.balance import FLOOR_W, SIGNIFICANT
from desktop.diagnosis.finding import SEVERITIES, Finding
from desktop.diagnosis.plant import Plant
from desktop.flow.block import Block
from desktop.flow.streams import GAPS, INDEX, SINKS, SOURCES, STREAMS
from desktop.review.builder import Builder
from desktop.review.limits import Flows, limits
from desktop.review.moment import BatteryNow, GapNow, GeneratorNow, LimitNow, Moment, StreamNow
from desktop.review.readings import FOREVER, Readings
from desktop.review.sentence import sentence
from recordings.channels import LEGS

if TYPE_CHECKING:
    from desktop.review.reviewing import Review

_SLOW_S = 900.0
"""For so long a state of charge or a temperature is still good."""

_NAN = math.nan


def moment_at(review: Review, builder: Builder, instant: int) -> Moment:
    """Everything that is shown of an instant (UTC nanoseconds)."""
    return _Instant(review, builder, instant).moment()


class _Instant:
    def __init__(self, review: Review, builder: Builder, instant: int) -> None:
        self._review = review
        self._builder = builder
        self._instant = instant
        self._recording = review.recording
        self._row = self._recording.row_at(instant)
        self._read = Readings(self._recording, self._row)
        self._plant = Plant.of(builder.learned, review.site)

    def moment(self) -> Moment:
        """The moment, with its sentence."""
        findings = self._findings()
        bare = Moment(
            time=self._instant,
            row=self._row,
            stale=self._stale,
            streams=self._streams(),
            table=self._table(),
            gaps=self._gaps(),
            generator=self._generator,
            battery=self._battery,
            limits=self._limits(),
            session=self._session,
            findings=findings,
            severity=findings[0].severity if findings else None,
        )
        read_at = int(self._recording.time[self._row]) if self._row >= 0 else self._instant
        headline, detail = sentence(bare, read_at, self._review.site.zone, self._relieved_s(read_at))
        return replace(bare, headline=headline, detail=detail)

    def _relieved_s(self, at: int) -> float:
        """How long ago the last session before an instant ended, s."""
        ended = [one.end for one in self._review.sessions if one.end <= at]
        return (at - max(ended)) / 1e9 if ended else math.inf

    @property
    def _stale(self) -> bool:
        if self._row < 0:
            return True
        time = self._recording.time
        age_s = abs(self._instant - int(time[self._row])) / 1e9
        if age_s > self._builder.learned.gap_s:
            return True
        following = self._row + 1
        if following >= len(time) or not age_s > self._builder.learned.interval_s:
            return False
        return (int(time[following]) - int(time[self._row])) / 1e9 > self._builder.learned.gap_s

    @cached_property
    def _session_now(self) -> tuple[Session | None, Block | None]:
        """The session that the instant lies in as it stood then, and the rows worked through for it."""
        if self._row < 0:
            return None, None
        at = int(self._recording.time[self._row])
        lying = next((one for one in self._review.sessions if one.start <= at <= one.end), None)
        if lying is None:
            return None, self._builder.block(self._recording, self._row, self._row + 1)
        start, runs = self._builder.sessions.runs_before(self._row)
        block = self._builder.block(self._recording, start, self._row + 1)
        runs.extend(block)
        if runs.latest is None:
            return None, block
        session = session_of(runs.latest, self._plant.rated_w, "still running")
        return replace(session, soc_start=lying.soc_start), block

    @property
    def _session(self) -> Session | None:
        return self._session_now[0]

    @property
    def _block(self) -> Block | None:
        return self._session_now[1]

    def _value(self, stream: str) -> float:
        return _NAN if self._block is None else float(self._block.value[INDEX[stream], -1])

    def _streams(self) -> dict[str, StreamNow]:
        ratings = self._review.ratings
        metered = np.full(len(STREAMS), np.nan) if self._block is None else self._block.measured[:, -1]
        knowledge = self._builder.worker.knowledge(metered)
        found: dict[str, StreamNow] = {}
        for row, name in enumerate(STREAMS):
            rated, assumed = ratings[name]
            value = sd = measured = _NAN
            if self._block is not None:
                value, sd = float(self._block.value[row, -1]), float(self._block.sd[row, -1])
                measured = float(self._block.measured[row, -1])
            found[name] = StreamNow(name, knowledge[name], value, sd, measured, rated, assumed)
        return found

    def _table(self) -> np.ndarray:
        if self._block is None:
            return np.full((len(SOURCES), len(SINKS)), np.nan)
        return self._block.traced[:, :, -1].copy()

    def _gaps(self) -> tuple[GapNow, ...]:
        if self._block is None:
            return ()
        found = []
        for row, place in enumerate(GAPS):
            value, sd = float(self._block.unaccounted[row, -1]), float(self._block.unaccounted_sd[row, -1])
            if math.isfinite(value):
                beyond = abs(value) > max(SIGNIFICANT * sd, FLOOR_W)
                found.append(GapNow(place, value, sd, beyond))
        return tuple(found)

    @cached_property
    def _hold_s(self) -> float:
        """For how long an electrical reading is still good: devices are read one after another."""
        interval = self._builder.learned.interval_s
        return 2.5 * interval if interval > 0 else 0.0

    def _legs(self, channel: str) -> tuple[float, ...]:
        names = [f"{channel}_{leg}" for leg in LEGS]
        if not any(name in self._recording for name in names):
            return ()
        legs = max(
            self._plant.legs, *(number + 1 for number, name in enumerate(names) if name in self._recording)
        )
        return tuple(self._read.get(name, self._hold_s) for name in names[:legs])

    @cached_property
    def _generator(self) -> GeneratorNow:
        plant = self._plant
        volts, amperes = self._legs("generator_voltage"), self._legs("generator_current")
        voltage = self._read.get("generator_voltage", self._hold_s)
        limit = self._setting("input_limit", plant.limit_a)
        limit_w = limit * plant.volts * plant.legs
        return GeneratorNow(
            running=self._running(),
            voltage=_mean(volts) if math.isnan(voltage) else voltage,
            current=self._current(amperes),
            frequency=self._read.get("generator_frequency", self._hold_s),
            leg_voltages=volts,
            leg_currents=amperes,
            limit_a=_or_none(limit),
            limit_w=_or_none(limit_w),
            limit_assumed=False,
            legs_unequal=any(finding.kind == "legs_unequal" for finding in self._findings()),
        )

    def _running(self) -> bool | None:
        if self._block is None:
            return None
        shown = float(turning(self._block, self._plant.hz, self._plant.volts)[-1])
        if math.isfinite(shown):
            return shown > 0
        power = self._value("generator")
        return None if math.isnan(power) else power > self._plant.carrying_w

    def _current(self, amperes: tuple[float, ...]) -> float:
        known = [abs(one) for one in amperes if math.isfinite(one)]
        if known:
            return max(known)
        read = abs(self._read.get("generator_current", self._hold_s))
        if math.isfinite(read) or self._block is None:
            return read
        plant = self._plant
        every = leg_currents(self._block, plant.volts, plant.legs, plant.power_factor)
        return float(np.fmax.reduce(every[:, -1]))

    def _setting(self, channel: str, by_sheet: float) -> float:
        told = self._read.get(channel, FOREVER)
        return by_sheet if math.isnan(told) else told

    @cached_property
    def _battery(self) -> BatteryNow:
        sheet = self._review.site.battery
        voltage = self._read.get("battery_voltage", self._hold_s)
        current = self._read.get("battery_current", self._hold_s)
        if math.isnan(current) and voltage > 1:
            current = self._value("battery") / voltage
        return BatteryNow(
            voltage=voltage,
            current=current,
            soc=self._read.get("battery_soc", _SLOW_S),
            temperature=self._read.get("battery_temperature", _SLOW_S),
            target_soc=sheet.target_soc,
            reserve_soc=sheet.reserve_soc,
        )

    def _limits(self) -> tuple[LimitNow, ...]:
        flows = Flows(
            generator=self._value("generator"),
            charger=self._value("converter_dc"),
            battery=self._value("battery"),
            charge_limit_a=self._setting("charge_limit", self._plant.charger_a),
        )
        has_generator = self._builder.learned.network.has("generator")
        return limits(self._plant, self._generator, self._battery, flows, has_generator=has_generator)

    def _findings(self) -> tuple[Finding, ...]:
        standing = [one for one in self._review.findings if one.stands_at(self._instant)]
        return tuple(sorted(standing, key=lambda one: (SEVERITIES.index(one.severity), one.start)))


def _mean(values: tuple[float, ...]) -> float:
    known = [value for value in values if math.isfinite(value)]
    return sum(known) / len(known) if known else _NAN


def _or_none(value: float) -> float | None:
    return value if math.isfinite(value) else None
