"""What a source may be doing, and devices that were found, for windows that are looked at without either."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from desktop.live.recording import Recorded
from desktop.window.live.lull import Lull
from drivers.probe.found import Found, FoundDevice, FoundReading
from drivers.source import State

_REASON = "no route to host; check that the device is switched on and in the same network"


@dataclass(frozen=True)
class Told:
    """As much of `Watching` as is shown of it."""

    state: State
    name: str = "Farmhouse at the upper weir · modbus-tcp://192.168.1.40:502"
    why: str = ""
    age_s: float = 0.4
    recorded: Recorded | None = None
    recording_on: bool = False
    lull: Lull | None = None


_FILE = (Path("a long name of a recording.csv"),)

STATES: dict[str, Told] = {
    "connecting": Told(State("connecting", 0), age_s=float("nan")),
    "reading": Told(State("reading", 0), recorded=Recorded(_FILE, 1_204_511, 2, 0, ""), recording_on=True),
    "waiting": Told(
        State("waiting", 0, _REASON, 1 << 62),
        why=_REASON,
        age_s=4000.0,
        lull=Lull(0, _REASON),
        recorded=Recorded(_FILE, 12, 9, 0, "the disk is full; rows wait until there is room again"),
        recording_on=True,
    ),
    "ended": Told(State("ended", 0, "the recording has ended"), why="the recording has ended", lull=Lull(0)),
}


def found() -> Found:
    """A meter that must be asked about, a battery that is guessed, and a device that can't be used as it is."""
    readings = (
        FoundReading("battery_power", "battery_power", 4380.0, "W", "plausible"),
        FoundReading("battery_voltage", "battery_voltage", 531.0, "V", "implausible"),
        FoundReading("battery_soc", "battery_soc", float("nan"), "%", "no reading"),
    )
    meter = (FoundReading("W", "", 2310.0, "W", "plausible"), FoundReading("Hz", "", 49.2, "Hz", "plausible"))
    at = "modbus-tcp://192.168.1.40:502?unit="
    why, no_map = (
        "a meter can't tell what it measures",
        "it doesn't describe itself, and needs a register map",
    )
    return Found(
        "modbus-tcp://192.168.1.40:502",
        (
            FoundDevice(
                at + "1",
                1,
                "Maker, battery, 2.1",
                (802,),
                "",
                readings,
                "battery",
                "a battery model",
                ("battery",),
            ),
            FoundDevice(
                at + "2", 2, "Maker, meter", (201,), "", meter, None, why, ("generator", "load"), why
            ),
            FoundDevice(at + "9", 9, "", (), "", (), None, "", ("generator", "load"), no_map),
        ),
        notes=("unit 7 answers too; &unit=7 looks at it alone",),
    )
