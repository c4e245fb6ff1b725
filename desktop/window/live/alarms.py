"""Which findings call somebody: new ones that ask to act now, until they are acknowledged. Qt-free.

An alarm is told once (ISA-18.2, IEC 62682): what chatters, and what is found in the past, doesn't call again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from desktop.diagnosis.finding import Finding

QUIET_NS = 60_000_000_000
"""So long after an alarm has ended the next one of its kind is the same one that chatters."""

REPEAT_S = 60.0
"""A standing alarm that nobody has acknowledged calls again after so long."""


@dataclass(slots=True)
class Alarm:
    """One finding that calls, as it is now."""

    finding: Finding
    acknowledged: bool = False

    @property
    def stands(self) -> bool:
        """True until it is over."""
        return self.finding.end is None


class Alarms:
    """Takes the findings of a review that grows, again and again."""

    def __init__(self) -> None:
        self._alarms: dict[tuple[str, int, str], Alarm] = {}
        self._past: set[tuple[str, int, str]] = set()
        self._revision: int | None = None
        self._seen_to = 0
        self._called_s = 0.0

    def look(self, findings: Sequence[Finding], last: int, revision: int, now_s: float) -> list[Finding]:
        """The findings that call now, the latest first; none for silence.

        last      the last row's time, UTC nanoseconds
        revision  another one means that the past was worked through anew: what is found in it calls nobody
        now_s     seconds that pass evenly
        """
        urgent = {_key(each): each for each in findings if each.severity == "act now"}
        gone = [alarm for key, alarm in self._alarms.items() if key not in urgent]
        before, self._alarms = self._alarms, {}
        calling = []
        for key, finding in urgent.items():
            if key in before:
                self._alarms[key] = Alarm(finding, before[key].acknowledged)
            elif key not in self._past:
                if revision != self._revision and _ended_before(finding, self._seen_to):
                    self._past.add(key)
                    continue
                same = next(
                    (each for each in [*gone, *self._alarms.values()] if _chatters(each, finding)), None
                )
                self._alarms[key] = Alarm(finding, same is not None and same.acknowledged)
                if same is None:
                    calling.append(finding)
        self._revision, self._seen_to = revision, max(last, self._seen_to)
        return self._called(calling, now_s)

    def _called(self, calling: list[Finding], now_s: float) -> list[Finding]:
        if not calling and now_s - self._called_s >= REPEAT_S:
            calling = [
                each.finding for each in self._alarms.values() if each.stands and not each.acknowledged
            ]
        if calling:
            self._called_s = now_s
        return sorted(calling, key=lambda each: -each.start)

    @property
    def unacknowledged(self) -> list[Alarm]:
        """Those that wait for somebody, standing or over, the latest first."""
        return self._latest(lambda each: not each.acknowledged)

    @property
    def acknowledged(self) -> list[Alarm]:
        """Those that somebody knows of and that still stand, the latest first."""
        return self._latest(lambda each: each.acknowledged and each.stands)

    def acknowledge(self) -> None:
        """Somebody knows of all that there are now."""
        for alarm in self._alarms.values():
            alarm.acknowledged = True

    def _latest(self, which: Callable[[Alarm], bool]) -> list[Alarm]:
        return sorted(filter(which, self._alarms.values()), key=lambda each: -each.finding.start)


def _key(finding: Finding) -> tuple[str, int, str]:
    return finding.kind, finding.start, finding.channel


def _ended_before(finding: Finding, instant: int) -> bool:
    return finding.end is not None and finding.end <= instant


def _chatters(alarm: Alarm, finding: Finding) -> bool:
    """True where a finding is only another one of what called already."""
    known = alarm.finding
    if (known.kind, known.channel) != (finding.kind, finding.channel):
        return False
    return not alarm.acknowledged or known.end is None or finding.start - known.end <= QUIET_NS
