"""Packs for tests: right ones, and zip files as somebody might make them who means harm."""

import io
import struct
import zipfile

SHEET = '[site]\nname = "Heron Mill"\n\n[generator]\nrated_w = 7000\n'
LISTED = 'format = 1\nsheet = "site.toml"\n\n[[recording]]\nfile = "recordings/day.csv"\n'
MINUTE = "2025-03-01T10:{:02d}:00Z,{}\r\n"
DAY = "time,generator_power [W]\r\n" + "".join(MINUTE.format(m, 1000 + m) for m in range(30))

FILES = {"headrace-pack.toml": LISTED, "recordings/day.csv": DAY, "site.toml": SHEET}


def zipped(files, *, comment=b"", compress=zipfile.ZIP_DEFLATED):
    """A zip with these files; a name may be a ZipInfo."""
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w", compress) as archive:
        for name, content in files.items() if isinstance(files, dict) else files:
            archive.writestr(name, content)
        archive.comment = comment
    return memory.getvalue()


def made(tmp_path, files=FILES, name="f.zip", **how):
    """The path of such a zip."""
    path = tmp_path / name
    path.write_bytes(zipped(files, **how))
    return path


def with_extra(name, content=DAY):
    """A right pack, and one file more in it."""
    return [*FILES.items(), (name, content)]


def central(data, number):
    """Where the record of the `number`th file begins in the zip's own list."""
    at = struct.unpack("<L", data[-6:-2])[0]
    for _ in range(number):
        name, extra, comment = struct.unpack("<HHH", data[at + 28 : at + 34])
        at += 46 + name + extra + comment
    assert data[at : at + 4] == b"PK\x01\x02"
    return at


def patched(data, number, offset, form, *values):
    """The zip with other numbers in the record of its `number`th file."""
    changed = bytearray(data)
    struct.pack_into(form, changed, central(data, number) + offset, *values)
    return bytes(changed)
