"""What each unit of the plant's Modbus server holds at any moment."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from drivers.timing import Timing
from drivers.wire.faults import Faults
from drivers.wire.live import LivePlant, Reading
from drivers.wire.plain import CLOCK_AT, UNIT, PlainRegisters
from drivers.wire.server import Unit
from drivers.wire.sunspec import BASE, devices, registers


class Served:
    """The latest reading of a plant, laid out as the registers of its units.

    units  by their unit id: the SunSpec devices, and all readings in plain registers
    """

    def __init__(
        self, plant: LivePlant, faults: Faults, *, speed: float = 1.0, timing: Timing | None = None
    ) -> None:
        self._faults, self._speed, self._timing = faults, speed, timing or Timing()
        self._images: dict[int, tuple[int, list[int]]] = {}
        self._clock_s = 0
        self.devices = devices(plant)
        self.plain = PlainRegisters(plant)
        self._publish(plant.next())
        self.units = {
            device.unit: Unit(device.unit, BASE, partial(self._laid_out, device.unit, device.image))
            for device in self.devices
        }
        self.units[UNIT] = Unit(UNIT, 0, self._plain)

    def publish(self, reading: Reading) -> None:
        """From now on this is what the devices say, unless they are frozen."""
        if not self._faults.holds("freeze"):
            self._publish(reading)

    def _publish(self, reading: Reading) -> None:
        self._reading, self._since = reading, self._timing.monotonic()

    def _laid_out(self, unit: int, image: Callable[[Reading], bytes]) -> list[int]:
        reading = self._reading
        number, words = self._images.get(unit, (-1, []))
        if number != reading.number:
            words = registers(image(reading))
            self._images[unit] = reading.number, words
        return words

    def _plain(self) -> list[int]:
        words = list(self._laid_out(UNIT, self.plain.image))
        if not self._faults.holds("freeze"):
            running_s = (self._timing.monotonic() - self._since) * self._speed
            self._clock_s = max(self._clock_s, int(self._reading.time / 1e9 + running_s))
        words[CLOCK_AT : CLOCK_AT + 2] = self._clock_s >> 16 & 0xFFFF, self._clock_s & 0xFFFF
        return words
