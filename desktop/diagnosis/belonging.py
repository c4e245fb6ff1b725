"""What belongs to what: a consequence is not told beside what it follows from."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from desktop.charging.stops import Halt
from desktop.diagnosis.finding import Finding

_SECOND = 1_000_000_000
_ELECTRICAL = frozenset(
    {
        "generator_frequency_low",
        "generator_frequency_high",
        "generator_voltage_low",
        "generator_voltage_high",
    }
)
_BY_BATTERY_METER = frozenset({"charger_idle", "battery_discharging_on_generator"})
_NEAR_S = 10
_STRUGGLE_S = 60
"""A set that is stalled or runs dry may hunt for so long before it stops."""


def without_consequences(findings: Iterable[Finding], halts: Sequence[Halt], step_s: float) -> list[Finding]:
    """The findings that say something of their own.

    Left out are: frequency and voltage in the struggle that ended in a stop under load; a run that was short
    because it ended so; light load while the charger was idle; a battery that seems to get nothing, or to give,
    for most of a time in which the power doesn't add up.
    """
    kept = list(findings)
    near = round(max(_NEAR_S, 2 * step_s) * _SECOND)
    struggle = round(max(_STRUGGLE_S, 2 * step_s) * _SECOND)

    def of_a_stop(finding: Finding) -> bool:
        if finding.kind in _ELECTRICAL:
            return any(
                _ends_after(finding, halt.loaded - near)
                and halt.loaded - struggle <= finding.start <= halt.settled + near
                for halt in halts
            )
        if finding.kind == "generator_short_cycle" and finding.unit == "s":
            return any(finding.start <= halt.settled and _near_end(finding, halt, near) for halt in halts)
        return False

    idle = [finding for finding in kept if finding.kind == "charger_idle"]

    def of_an_idle_charger(finding: Finding) -> bool:
        return finding.kind == "generator_lightly_loaded" and any(_overlap(finding, one) for one in idle)

    astray = [finding for finding in kept if finding.kind == "power_unaccounted"]

    def of_a_wrong_reading(finding: Finding) -> bool:
        return finding.kind in _BY_BATTERY_METER and any(_mostly_within(finding, one) for one in astray)

    rules: tuple[Callable[[Finding], bool], ...] = (of_a_stop, of_an_idle_charger, of_a_wrong_reading)
    return [finding for finding in kept if not any(rule(finding) for rule in rules)]


def _ends_after(finding: Finding, instant: int) -> bool:
    return finding.end is None or finding.end >= instant


def _near_end(finding: Finding, halt: Halt, near: int) -> bool:
    return finding.end is not None and abs(finding.end - halt.stopped) <= near


def _mostly_within(one: Finding, other: Finding) -> bool:
    if not _overlap(one, other):
        return False
    if one.end is None:
        return other.end is None
    shared = min(one.end, one.end if other.end is None else other.end) - max(one.start, other.start)
    return 2 * shared >= one.end - one.start


def _overlap(one: Finding, other: Finding) -> bool:
    return _ends_after(one, other.start) and _ends_after(other, one.start)
