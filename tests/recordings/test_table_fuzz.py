"""No bytes whatever raise anything but ReadError, from reading or from looking."""

import random
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from recordings.errors import ReadError
from recordings.tables import inspect_table, read_table

ROWS = range(24)
SEEDS = (
    "time,Generator power [kW],Load (W),Battery voltage,SOC %\n"
    + "".join(f"2026-02-14T00:00:{row:02d}Z,1.5,300,52.1,80\n" for row in ROWS),
    "Datum;Uhrzeit;Netzbezug [W];Einspeisung [W];Batterieleistung [W]\n"
    + "".join(f"31.03.2024;03:59:{row:02d};1.234,5;0;-10,5\n" for row in ROWS),
    "ts,gen_w,battery power W (discharge positive)\n" + "".join(f"17710778{row:02d}.5,1,2\n" for row in ROWS),
    "time\tgen_w\tcharger enabled\tload W\r\n"
    + "".join(f"10/29/2023 02:{row:02d} AM\t1,234.5\tyes\t5\r\n" for row in ROWS),
    '"time";"gen\npower [W]";"load W"\n'
    + "".join(f'"28-Okt-2023 02:{row:02d}";"1";"x ""q"" "\n' for row in ROWS),
)
FRAGMENTS = (
    *(bytes([byte]) for byte in b'",;\n\r\0\t|-\xff\x1a'),
    *(b"", b"\xe2\x80\xaf", b"\xef\xbb\xbf", b"9999999999999", b"1e400", b"e00", b"NaN", b"inf", b"time"),
    *(b"99/99/9999", b"2024-02-30", b"24:00:00", b"+14:00", b"9999-12-31T00:00:00Z", b"0001-01-01", b"1e18"),
    *(b"1.234", b"1,234"),
)
ZONES = ("", "Europe/Berlin", "America/New_York", "Asia/Kathmandu")


def only_read_errors(content: bytes, **options: object) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "any.csv")
        path.write_bytes(content)
        for told in (outcome(read_table, path, **options), outcome(inspect_table, path)):
            assert told.isprintable()


def outcome(read: Callable[..., object], path: Path, **options: object) -> str:
    """The line of a refusal, nothing where the file could be read."""
    try:
        read(path, **options)
    except ReadError as error:
        return str(error)
    return ""


def mutated(chance: random.Random) -> bytes:
    text = chance.choice(SEEDS)
    content = bytearray(text.encode(chance.choice(["utf-8", "utf-8", "utf-8", "utf-16", "utf-16-be"])))
    for _ in range(chance.choice([1, 2, 5, 20])):
        at, way = chance.randrange(len(content) + 1), chance.random()
        if way < 0.4:
            content[at : at + chance.choice([0, 1, 2, 5])] = chance.choice(FRAGMENTS)
        elif way < 0.6:
            del content[at : at + chance.randrange(1, 40)]
        elif way < 0.8:
            content[at:at] = content[chance.randrange(len(content) + 1) :][: chance.randrange(60)]
        else:
            content[at : at + 1] = bytes([chance.randrange(256)])
    return bytes(content)


def fuzz(seed: int, times: int) -> None:
    chance = random.Random(seed)
    for _ in range(times):
        only_read_errors(
            mutated(chance),
            timezone=chance.choice(ZONES),
            stamp=chance.choice(["instant", "start", "end"]),
            day_first=chance.choice([None, True, False]),
        )


LIMITS = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


@LIMITS
@given(st.binary(max_size=600))
def test_any_bytes(content):
    only_read_errors(content)


@LIMITS
@given(
    st.lists(st.text(max_size=8), min_size=1, max_size=4), st.lists(st.lists(st.text(max_size=8), max_size=5))
)
def test_any_cells_under_any_header(header, rows):
    lines = [["2026-02-14T10:00:00Z", *row] for row in rows]
    only_read_errors(
        "\n".join(",".join(row) for row in [["time", *header], *lines]).encode("utf-8", "replace")
    )


@LIMITS
@given(st.lists(st.text(alphabet="0123456789-/.: TZ+aApPmM", max_size=24), min_size=2, max_size=8))
def test_any_stamps(stamps):
    only_read_errors(("time,Load [W]\n" + "".join(f"{stamp},1\n" for stamp in stamps)).encode())


def test_broken_tables():
    fuzz(1, 150)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(2, 10))
def test_many_more_broken_tables(seed):
    fuzz(seed, 3000)
