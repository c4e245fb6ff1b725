"""A month at 1 Hz, reviewed from its file, beside a script that only reads the file and draws it.

Run: python tests/bench/bench_month.py [ROWS]
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

import numpy as np
from side_by_side import peak_megabytes, process, told

ROWS = 2_592_000

_BARE = """
import sys
import numpy as np
from pyarrow import csv
import pyqtgraph as pg
table = csv.read_csv(sys.argv[1])
app = pg.mkQApp()
plot = pg.PlotWidget()
plot.resize(1440, 900)
time = table["time"].cast("int64").to_numpy() / 1e9
for number, name in enumerate(table.column_names[1:]):
    plot.plot(time, table[name].to_numpy(), pen=pg.intColor(number))
plot.show()
app.processEvents()
plot.grab().save(sys.argv[2])
"""


def month(path: Path, rows: int) -> None:
    """Write a month of a household: ten columns at 1 Hz, with noise, a generator run each evening, and solar."""
    from recordings.recording import Recording
    from recordings.tables import write_csv

    chance = np.random.default_rng(7)
    clock = np.arange(rows) % 86_400
    run = (clock > 64_800) & (clock < 75_600)
    load = 420 + 260 * np.sin(clock / 9_000) + 1_200 * (clock % 3_600 < 240)
    solar = np.clip(2_600 * np.sin((clock - 25_200) / 36_000 * np.pi), 0, None)
    solar[(clock < 25_200) | (clock > 61_200)] = 0
    generator = np.where(run, 5_200.0, 0.0)
    through = generator - load
    loss = 40 + 0.08 * np.abs(through)
    battery = through - loss + solar
    voltage = 52.0 + battery / 4_000
    soc = np.clip(55 + np.cumsum(battery) / 3.6e6 / 15 * 100 % 40, 0, 100)

    def metered(values: np.ndarray, digits: int) -> np.ndarray:
        return np.round(values + chance.normal(0, 8, rows) * (np.abs(values) > 1), digits)

    columns = {
        "generator_power": metered(generator, 0),
        "generator_voltage": np.round(np.where(run, 231.0, 0.0), 1),
        "generator_current": np.round(generator / 231, 2),
        "generator_frequency": np.round(np.where(run, 50.1, 0.0), 2),
        "load_power": metered(load, 0),
        "solar_power": metered(solar, 0),
        "battery_power": metered(battery, 0),
        "battery_voltage": np.round(voltage, 2),
        "battery_current": np.round(battery / voltage, 2),
        "battery_soc": np.round(soc, 1),
    }
    time = 1_767_225_600_000_000_000 + np.arange(rows, dtype=np.int64) * 1_000_000_000
    write_csv(Recording.from_columns(time, columns), path)


def main() -> None:
    """Print the ratio of the two whole processes, and the peak memory of the review."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    with tempfile.TemporaryDirectory() as folder:
        table, picture = Path(folder, "month.csv"), str(Path(folder, "month.png"))
        month(table, rows)
        print(f"{rows} rows, {table.stat().st_size / 1e6:.0f} MB")
        bare = process("-c", _BARE, str(table), picture)
        ours = ("-m", "desktop.app", "review", str(table))
        told("headrace review", process(*ours), "read with pyarrow, draw plainly", bare)
        told("headrace review --png", process(*ours, "--png", picture), "the same", bare)
        print(f"peak memory of headrace review --png: {peak_megabytes(*ours, '--png', picture):.0f} MB")


if __name__ == "__main__":
    main()
