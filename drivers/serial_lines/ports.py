"""The serial ports of this computer, as a person chooses among them."""

from __future__ import annotations

from dataclasses import dataclass

_NOTHING_TOLD = "n/a"


@dataclass(frozen=True, slots=True)
class PortFound:
    """A serial port.

    device       what an address names it by: "/dev/ttyUSB0", "COM3"
    description  what the system says that it is; "" where it says nothing
    """

    device: str
    description: str

    @property
    def modbus_address(self) -> str:
        """The address of Modbus devices on this port."""
        return f"modbus-rtu://{self.device}"

    @property
    def lines_address(self) -> str:
        """The address of a device that prints lines on this port."""
        return f"serial://{self.device}"


def serial_ports() -> list[PortFound]:
    """The ports that there are now, by name. None of them is opened."""
    from serial.tools.list_ports import comports

    return sorted(
        (_found(port.device, port.description) for port in comports()), key=lambda port: port.device
    )


def _found(device: str, description: str | None) -> PortFound:
    told = (description or "").strip()
    return PortFound(device, "" if told in (_NOTHING_TOLD, device) else told)
