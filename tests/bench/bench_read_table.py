"""A month at 1 Hz read into a recording, beside Arrow alone reading the same file into its own columns.

Both are whole processes, and both are told nothing but the path; Arrow gets the best types for our own file.
Run: python tests/bench/bench_read_table.py [ROWS]
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from bench_month import ROWS, month
from side_by_side import peak_megabytes, process, told

_BARE = """
import sys
import pyarrow as pa
from pyarrow import csv
with open(sys.argv[1]) as file:
    names = file.readline().rstrip().split(",")
types = {name: pa.float32() for name in names[1:]} | {names[0]: pa.timestamp("ns", "UTC")}
options = csv.ConvertOptions(column_types=types)
blocks = csv.open_csv(sys.argv[1], convert_options=options)
if len(sys.argv) > 2:
    print(blocks.read_all().num_rows)
else:
    print(sum(block.num_rows for block in blocks))
"""

_OURS = "import sys; from recordings.tables import read_table; print(len(read_table(sys.argv[1])))"

_LOCAL = (
    "import sys; from recordings.tables import read_table; "
    "print(len(read_table(sys.argv[1], timezone='Europe/Berlin')))"
)


def german(source: Path, target: Path) -> None:
    """The same rows as another logger writes them: semicolons, decimal commas, day first, local time."""
    with source.open() as file, target.open("w") as out:
        out.write(file.readline().replace(",", ";"))
        for line in file:
            stamp, rest = line.rstrip().split(",", 1)
            day = f"{stamp[8:10]}.{stamp[5:7]}.{stamp[:4]} {stamp[11:19]}"
            out.write(f"{day};{rest.replace(',', ';').replace('.', ',')}\n")


def main() -> None:
    """Print the ratios and the peak memory."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    with tempfile.TemporaryDirectory() as folder:
        table, odd = Path(folder, "month.csv"), Path(folder, "monat.csv")
        started = time.perf_counter()
        month(table, rows)
        print(
            f"{rows} rows, {table.stat().st_size / 1e6:.0f} MB, made in {time.perf_counter() - started:.1f} s"
        )
        bare = process("-c", _BARE, str(table), rounds=5)
        kept = process("-c", _BARE, str(table), "keep", rounds=5)
        ours = process("-c", _OURS, str(table), rounds=5)
        told("read_table", ours, "open_csv, blocks thrown away", bare)
        told("read_table", ours, "open_csv, columns kept", kept)
        print(f"peak memory: {peak_megabytes('-c', _OURS, str(table)):.0f} MB")
        german(table, odd)
        told(
            "read_table, decimal comma, day first, local",
            process("-c", _LOCAL, str(odd)),
            "open_csv of our own file, thrown away",
            bare,
        )
        print(f"peak memory: {peak_megabytes('-c', _LOCAL, str(odd)):.0f} MB")


if __name__ == "__main__":
    main()
