"""Charging in stages: bulk up to a voltage, absorption at it, float below it; and what the battery allows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Stage = Literal["bulk", "absorption", "float"]

_REACHED_S = 10.0
_TAIL_S = 60.0
_REBULK_S = 300.0
_NEAR = 0.998
_LEAST_TAPER = 0.06
REFERENCE_C = 25.0


@dataclass(frozen=True, slots=True)
class ChargeSettings:
    """Voltages of the whole bank at 25 °C; `volts_per_c` corrects them for temperature.

    tail_a      current that ends absorption, which also ends after `absorb_s`
    rebulk_v    voltage below which charging starts anew
    max_a       the most that the battery takes
    taper_soc   from there its electronics ask for less and less, down to little at 100 %
    coldest_c   below it they refuse charge
    """

    absorb_v: float
    float_v: float
    rebulk_v: float
    tail_a: float
    absorb_s: float
    volts_per_c: float
    max_a: float
    taper_soc: float
    coldest_c: float

    def compensated(self, volts: float, celsius: float) -> float:
        """A charge voltage at the battery's temperature."""
        return volts + self.volts_per_c * (celsius - REFERENCE_C)


class ChargeStages:
    """Which stage charging is in. All chargers of a plant follow the same one."""

    __slots__ = ("_settings", "_tail_s", "_timer_s", "stage")

    def __init__(self, settings: ChargeSettings) -> None:
        self._settings = settings
        self.stage: Stage = "bulk"
        self._timer_s = 0.0
        self._tail_s = 0.0

    def begin(self) -> None:
        """Start with bulk again."""
        self.stage, self._timer_s, self._tail_s = "bulk", 0.0, 0.0

    def limit_v(self, celsius: float) -> float:
        """The voltage that charging holds or works towards, V."""
        settings = self._settings
        volts = settings.float_v if self.stage == "float" else settings.absorb_v
        return settings.compensated(volts, celsius)

    def limit_a(self, soc: float, celsius: float) -> float:
        """The current that the battery allows, A."""
        settings = self._settings
        if celsius < settings.coldest_c:
            return 0.0
        if soc <= settings.taper_soc:
            return settings.max_a
        return settings.max_a * max(_LEAST_TAPER, (100.0 - soc) / (100.0 - settings.taper_soc))

    def follow(self, volts: float, amperes: float, limit_v: float, dt: float) -> Stage:
        """Look at the terminals after `dt` seconds, and go to the next stage when it is time."""
        if self.stage == "bulk":
            self._timer_s = self._timer_s + dt if volts >= _NEAR * limit_v else 0.0
            if self._timer_s >= _REACHED_S:
                self.stage, self._timer_s, self._tail_s = "absorption", 0.0, 0.0
        elif self.stage == "absorption":
            self._absorb(volts, amperes, limit_v, dt)
        else:
            self._timer_s = self._timer_s + dt if volts < self._settings.rebulk_v else 0.0
            if self._timer_s >= _REBULK_S:
                self.begin()
        return self.stage

    def _absorb(self, volts: float, amperes: float, limit_v: float, dt: float) -> None:
        self._timer_s += dt
        held = volts >= _NEAR * limit_v
        self._tail_s = self._tail_s + dt if held and amperes <= self._settings.tail_a else 0.0
        if self._tail_s >= _TAIL_S or (held and self._timer_s >= self._settings.absorb_s):
            self.stage, self._timer_s = "float", 0.0
        elif volts < self._settings.rebulk_v and amperes <= 0.0:
            self.begin()
