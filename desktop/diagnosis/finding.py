"""A finding: something worth telling, with its time, its numbers, its words and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from desktop.words import Phrase, template

Severity = Literal["act now", "attend", "note"]

SEVERITIES: tuple[Severity, ...] = ("act now", "attend", "note")
"""From the most to the least urgent."""

SEVERITY_NAMES: dict[Severity, str] = {
    "act now": template("act now"),
    "attend": template("attend"),
    "note": template("note"),
}
"""What each is called, in the middle of a line."""

SEVERITY_OF: dict[str, Severity] = {
    "input_over_limit": "act now",
    "generator_over_rating": "act now",
    "charge_over_limit": "act now",
    "battery_over_voltage": "act now",
    "charging_while_cold": "act now",
    "generator_stopped_under_load": "act now",
    "two_sources_live": "act now",
    "limit_above_rating": "attend",
    "generator_frequency_low": "attend",
    "generator_frequency_high": "attend",
    "generator_voltage_low": "attend",
    "generator_voltage_high": "attend",
    "charger_idle": "attend",
    "battery_discharging_on_generator": "attend",
    "legs_unequal": "attend",
    "power_unaccounted": "attend",
    "meter_suspect": "attend",
    "soc_jump": "attend",
    "battery_low": "attend",
    "generator_lightly_loaded": "note",
    "generator_short_cycle": "note",
    "soc_disagrees": "note",
    "telemetry_gap": "note",
    "telemetry_stuck": "note",
    "clock_jump": "note",
}
"""Every kind of finding."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong, from `start` to `end` (UTC nanoseconds; `end` is None while it stands).

    kind       a key of SEVERITY_OF
    channel    the channel that it was seen in
    peak       the worst value, in `unit`; NaN where there is none
    threshold  the value that it was held against, in `unit`; NaN where there is none
    title      a few words, the same for every finding of the kind
    text       what happened, in a sentence with its numbers
    cause      why, where that is known; else an empty phrase
    advice     what to do
    """

    kind: str
    start: int
    end: int | None
    channel: str
    peak: float
    threshold: float
    unit: str
    title: Phrase
    text: Phrase
    cause: Phrase
    advice: Phrase

    @property
    def severity(self) -> Severity:
        """How urgent findings of this kind are."""
        return SEVERITY_OF[self.kind]

    def stands_at(self, instant: int) -> bool:
        """True while the finding stands at an instant (UTC nanoseconds)."""
        return self.start <= instant and (self.end is None or instant <= self.end)
