"""What watching costs: from a changed register to changed pixels, and the share of a core at five rows a second.

The device is a real Modbus server in a process of its own, with 20 channels that are read five times a second.

Run: python tests/bench/bench_live.py [CHANGES] [SECONDS]
"""

from __future__ import annotations

import math
import os
import random
import statistics
import struct
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

INTERVAL_S = 0.2
CHANGES, SECONDS = 60, 20.0
APART_S = (0.8, 1.7)
LOW_W, HIGH_W = 600.0, 3400.0
CHANNELS: dict[str, float] = {
    "generator_power": 5200.0,
    **{f"generator_voltage_{leg}": 230.0 for leg in ("l1", "l2", "l3")},
    **{f"generator_current_{leg}": 7.5 for leg in ("l1", "l2", "l3")},
    "generator_frequency": 50.0,
    "grid_power": 0.0,
    "load_power": LOW_W,
    "solar_power": 800.0,
    "battery_power": 5000.0,
    "battery_voltage": 53.1,
    "battery_current": 94.0,
    "battery_soc": 63.0,
    "battery_temperature": 18.0,
    "converter_ac_power": 4600.0,
    "converter_dc_power": 4200.0,
    "input_limit": 30.0,
    "fuel_level": 70.0,
}
SCALE = 0.1


def serve(changes: bool) -> None:
    """The device: its load changes now and then, or all its values all the time. Tells each change's instant."""
    from drivers.wire.faults import Faults
    from drivers.wire.server import Unit, WireServer

    values = dict(CHANNELS)
    chance = random.Random(7)

    def registers() -> list[int]:
        now = time.monotonic()
        told = []
        for number, value in enumerate(values.values()):
            wave = 0.0 if changes else 0.01 * value * math.sin(3 * now + number)
            told += struct.unpack(">HH", struct.pack(">i", round((value + wave) / SCALE)))
        return told

    unit = Unit(1, 0, registers)
    with WireServer("127.0.0.1", 0, {1: unit}, Faults([], time.monotonic, 0)) as server:
        print(server.address[1], flush=True)
        while True:
            time.sleep(chance.uniform(*APART_S))
            if changes:
                load = LOW_W + HIGH_W - values["load_power"]
                values["load_power"] = load
                print(time.monotonic_ns(), flush=True)


def map_text() -> str:
    """The map of its registers."""
    reads = [
        f'[[read]]\nchannel = "{name}"\naddress = {2 * number}\ntype = "i32"\nscale = {SCALE}\n'
        for number, name in enumerate(CHANNELS)
    ]
    return "[device]\nunit = 1\n\n" + "\n".join(reads)


class Device:
    """The server in a process of its own."""

    def __init__(self, folder: Path, *, changes: bool) -> None:
        self._process = subprocess.Popen(
            [sys.executable, __file__, "serve", "changes" if changes else ""],
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._process.stdout is not None
        port = int(self._process.stdout.readline())
        path = folder / "map.toml"
        path.write_text(map_text())
        self.address = f"modbus-tcp://127.0.0.1:{port}?map={path}"
        self.changed: list[int] = []
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        for line in self._process.stdout:
            self.changed.append(int(line))

    def stop(self) -> None:
        """End it."""
        self._process.terminate()
        self._process.wait()


def watching(address: str, *, motion: bool):
    """A window that watches, with something to show."""
    from desktop.window import shot
    from desktop.window.live.wish import Wish
    from desktop.window.main import MainWindow
    from desktop.window.settings import Forgotten, Settings

    shot.application()
    settings = Settings(Forgotten())
    settings.motion = motion
    window = MainWindow(settings)
    window.show()
    window.live.watch(Wish(address, interval_s=INTERVAL_S))
    while not window.live.growing:
        for_a_while(0.1)
    for_a_while(3.0)
    return window


def for_a_while(seconds: float) -> None:
    """Let the window live on."""
    from PySide6.QtCore import QEventLoop, QTimer

    loop = QEventLoop()
    QTimer.singleShot(round(1e3 * seconds), loop.quit)
    loop.exec()


def to_pixels(folder: Path, changes: int) -> list[float]:
    """ms from each change of a register to the first paint of the diagram that looks otherwise."""
    from PySide6.QtCore import QEvent, QObject, QTimer

    from desktop.window import shot

    device = Device(folder, changes=True)
    window = watching(device.address, motion=False)
    diagram = window.board.diagram
    painted: list[int] = []

    class Painted(QObject):
        last = diagram.grab().toImage()
        looking = False

        def eventFilter(self, watched: QObject, event: QEvent) -> bool:
            if event.type() == QEvent.Type.Paint and not self.looking:
                # What was painted is looked at when the painting is over; the instant is that of its end.
                QTimer.singleShot(0, self._look)
            return False

        def _look(self) -> None:
            now = time.monotonic_ns()
            self.looking = True
            picture = diagram.grab().toImage()
            self.looking = False
            if picture != self.last:
                self.last = picture
                painted.append(now)

    eyes = Painted()
    diagram.installEventFilter(eyes)
    device.changed.clear()
    while len(device.changed) < changes + 1:
        for_a_while(0.5)
    device.stop()
    diagram.removeEventFilter(eyes)
    window.close()
    shot.dismiss(window)
    # Numbers follow their water within half a second: only what comes first after a change counts.
    return [(next(at for at in painted if at > change) - change) / 1e6 for change in device.changed[:changes]]


def share_of_a_core(folder: Path, seconds: float, *, motion: bool) -> tuple[float, float]:
    """The share of a core that a window takes, and how many rows came a second."""
    from desktop.window import shot

    device = Device(folder, changes=False)
    window = watching(device.address, motion=motion)
    rows, began, used = len(window.ready.review.recording), time.monotonic(), own_s()
    for_a_while(seconds)
    wall = time.monotonic() - began
    share, came = (own_s() - used) / wall, (len(window.ready.review.recording) - rows) / wall
    window.close()
    shot.dismiss(window)
    device.stop()
    return share, came


def own_s() -> float:
    """Seconds of a core that this process has taken."""
    fields = Path("/proc/self/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def main() -> None:
    """Print everything."""
    changes = int(sys.argv[1]) if len(sys.argv) > 1 else CHANGES
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else SECONDS
    with tempfile.TemporaryDirectory() as name:
        for motion in (False, True):
            share, came = share_of_a_core(Path(name), seconds, motion=motion)
            print(
                f"{len(CHANNELS)} channels, {came:.2f} rows a second{', with motion' if motion else '':<13}: "
                f"{100 * share:4.1f} % of a core"
            )
        late = sorted(to_pixels(Path(name), changes))
    most = late[min(len(late) - 1, math.ceil(0.99 * len(late)) - 1)]
    allowed = 1.2 * 1e3 * INTERVAL_S + 60
    print(
        f"{changes} changed registers: changed pixels after {statistics.median(late):.0f} ms in the median, "
        f"{most:.0f} ms in 99 %, ratio to 1.2 polls + 60 ms {most / allowed:.2f}"
    )


if __name__ == "__main__":
    if sys.argv[1:2] == ["serve"]:
        serve(sys.argv[2] == "changes")
    else:
        main()
