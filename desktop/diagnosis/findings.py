"""All detectors over one recording: what is wrong, since when, why, and what to do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from desktop.charging.stops import Facts, Stops
from desktop.diagnosis.balance import power_unaccounted
from desktop.diagnosis.bands import bands
from desktop.diagnosis.battery import battery_low, battery_over_voltage, charging_while_cold
from desktop.diagnosis.belonging import without_consequences
from desktop.diagnosis.charge_current import charge_over_limit
from desktop.diagnosis.charging import battery_discharging_on_generator, charger_idle
from desktop.diagnosis.cycles import ShortCycles
from desktop.diagnosis.finding import SEVERITIES, Finding
from desktop.diagnosis.legs import legs_unequal
from desktop.diagnosis.light_load import generator_lightly_loaded
from desktop.diagnosis.limits import generator_over_rating, input_over_limit, limit_above_rating
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.rows import Watcher
from desktop.diagnosis.soc import SocJumps, soc_disagrees
from desktop.diagnosis.sources import two_sources_live
from desktop.diagnosis.stopped import StoppedUnderLoad
from desktop.diagnosis.stuck import StuckReadings
from desktop.diagnosis.telemetry import Gaps, clock_findings
from desktop.diagnosis.watch import Detector
from desktop.flow.block import Block
from desktop.site import Site
from recordings.provenance import ClockJump


class Diagnosis:
    """Finds what is wrong in blocks that follow each other. Any cutting of the rows gives the same findings.

    Every kind of finding comes from here but `meter_suspect`, which needs to look at whole stretches.

    stops  shared with others that take the same blocks; None for its own
    """

    def __init__(
        self,
        learned: Facts,
        site: Site,
        clock_jumps: Sequence[ClockJump] = (),
        stops: Stops | None = None,
    ) -> None:
        plant = Plant.of(learned, site)
        self._plant = plant
        self._watcher = Watcher(plant)
        self._clock = clock_findings(clock_jumps)
        self._stopped = StoppedUnderLoad(Stops(learned, site) if stops is None else stops, plant)
        self._detectors: list[Detector] = [
            self._stopped,
            input_over_limit(plant),
            generator_over_rating(plant),
            limit_above_rating(plant),
            *bands(plant),
            generator_lightly_loaded(plant),
            ShortCycles(plant),
            charge_over_limit(plant),
            charger_idle(plant),
            battery_discharging_on_generator(plant),
            battery_over_voltage(plant),
            charging_while_cold(plant),
            battery_low(plant),
            SocJumps(plant),
            soc_disagrees(plant),
            legs_unequal(plant),
            power_unaccounted(plant),
            two_sources_live(plant),
            Gaps(plant),
            StuckReadings(),
        ]

    def extend(self, block: Block) -> None:
        """Take the next rows."""
        if not len(block):
            return
        rows = self._watcher.rows(block)
        for detector in self._detectors:
            detector.extend(rows)
        self._watcher.passed(rows)

    def findings(self) -> tuple[Finding, ...]:
        """What was found so far in order of start, the most urgent first where that is the same.

        What still stands has no end.
        """
        every = [finding for detector in self._detectors for finding in detector.findings()]
        told = without_consequences(every, self._stopped.halts, self._plant.interval_s)
        told.extend(self._clock)
        return in_order(told)


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in order of start, the most urgent first where that is the same."""
    return tuple(sorted(findings, key=_order))


def _order(finding: Finding) -> tuple[int, int, str]:
    return finding.start, SEVERITIES.index(finding.severity), finding.kind
