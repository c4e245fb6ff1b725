"""Everything that is shown of one instant: the picture, the limits and the sentence are drawn from it alone."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from desktop.charging.sessions import Session
from desktop.diagnosis.finding import Finding, Severity
from desktop.words import Phrase

Knowledge = Literal["checked", "measured", "computed", "unknown", "absent"]
"""checked: metered, and other meters confirm it; measured: metered only; computed: no meter, but follows from
the others; unknown: the plant has it, and nothing tells how much; absent: the plant has no such stream."""


@dataclass(frozen=True, slots=True)
class StreamNow:
    """One stream at the instant, W. `value` is NaN when unknown; `rated` is None when not known."""

    name: str
    knowledge: Knowledge
    value: float
    sd: float
    measured: float
    rated: float | None
    rated_assumed: bool = False


@dataclass(frozen=True, slots=True)
class GapNow:
    """Power that doesn't add up at a place ("ac", "dc" or "both"), W; positive: enters and isn't seen to leave."""

    place: str
    value: float
    sd: float
    significant: bool


LimitState = Literal["ok", "near", "over", "not known"]


@dataclass(frozen=True, slots=True)
class LimitNow:
    """A value held against its limit.

    key     input_current, generator_load, charge_current, battery_voltage, battery_temperature,
            generator_frequency, generator_voltage; with _l1 … for legs
    value   NaN when not known
    lower, upper  the limits, None where there is none
    lowest, highest  the ends of the scale on which to draw it
    unit    as in `desktop.words` formats (W, A, V, Hz, %, °C)
    assumed True where a limit is an assumed value
    """

    key: str
    label: Phrase
    value: float
    lower: float | None
    upper: float | None
    lowest: float
    highest: float
    unit: str
    state: LimitState
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class GeneratorNow:
    """The generator's terminals. Per-leg values are empty where the plant has one leg or nothing tells."""

    running: bool | None
    voltage: float
    current: float
    frequency: float
    leg_voltages: tuple[float, ...]
    leg_currents: tuple[float, ...]
    limit_a: float | None
    limit_w: float | None
    limit_assumed: bool
    legs_unequal: bool


@dataclass(frozen=True, slots=True)
class BatteryNow:
    """The battery's terminals; NaN where nothing tells. Current into the battery."""

    voltage: float
    current: float
    soc: float
    temperature: float
    target_soc: float
    reserve_soc: float


@dataclass(frozen=True, slots=True)
class Moment:
    """One instant of a review.

    time     UTC nanoseconds, as asked for
    row      the recording's row that is shown; -1 for an empty recording
    stale    True where the instant lies in a gap, so that the row is too old to be believed
    streams  by name, all of `desktop.flow.streams.STREAMS`
    table    (5, 5) W from SOURCES to SINKS; NaN where not known
    gaps     where power doesn't add up (only places that are known)
    session  the charge session that the instant lies in, as it stood at that instant; else None
    findings those that stand at the instant, most urgent first
    """

    time: int
    row: int
    stale: bool
    streams: dict[str, StreamNow]
    table: np.ndarray
    gaps: tuple[GapNow, ...]
    generator: GeneratorNow
    battery: BatteryNow
    limits: tuple[LimitNow, ...]
    session: Session | None
    findings: tuple[Finding, ...] = field(default=())
    severity: Severity | None = None
    headline: Phrase = field(default_factory=lambda: Phrase(""))
    detail: Phrase = field(default_factory=lambda: Phrase(""))
