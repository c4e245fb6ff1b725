"""`headrace probe`: what is behind an address, and a map or roles to start from."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from desktop.words import template, tr
from recordings.errors import UsageError

if TYPE_CHECKING:
    from drivers.probe.report import ProbedDevice, ProbedModel, ProbedValue, ProbeReport

_VERDICTS = {
    "plausible": "",
    "implausible": template("implausible"),
    "no reading": template("no reading"),
    "not read": template("not read"),
}
"""What is said of a value; that it can be needs no word."""

_SUFFIX_OF_SHEETS = ".toml"
_PROTOCOLS_LIMIT = 125


def run(options: argparse.Namespace) -> int:
    """Look, and print what was found as text or as JSON."""
    report = probed(options.source)
    if options.json:
        print(json.dumps(report.as_json(), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print("\n".join(as_text(report)))
    sys.stdout.flush()
    return 0


def probed(source: str) -> ProbeReport:
    """What is found at an address, or at the addresses of all devices of a site sheet."""
    from drivers.probe.report import ProbeReport

    whole = ProbeReport()
    for address, extra in _addresses(source):
        part = _probe(address, extra)
        whole.devices += part.devices
        whole.notes += part.notes
    return whole


def as_text(report: ProbeReport) -> Iterator[str]:
    """Lines for people."""
    for device in report.devices:
        yield from _device(device)
        yield ""
    for note in report.notes:
        yield tr("Note: {note}.").format(note=note)


def _addresses(source: str) -> Sequence[tuple[str, dict[str, Any]]]:
    if "://" in source:
        return [(source, {})]
    path = Path(source)
    if path.suffix.lower() != _SUFFIX_OF_SHEETS:
        raise UsageError(
            "there is nothing to probe in this",
            where=source,
            mend="name an address such as modbus-tcp://HOST, or a site sheet with devices",
        )
    from desktop.site import Site

    devices = Site.load(path).device
    if not devices:
        raise UsageError(
            "the site sheet has no devices", where=source, mend="add a [[device]] with its source"
        )
    return [
        (each.source, {"role": each.role, "map_name": each.map, "folder": path.parent}) for each in devices
    ]


def _probe(address: str, extra: dict[str, Any]) -> ProbeReport:
    if address.startswith("serial:"):
        from drivers.probe.lines import probe_line

        return probe_line(address, **{key: value for key, value in extra.items() if key != "role"})
    from drivers.probe.probing import probe_modbus

    def progress(what: str) -> None:
        if sys.stderr.isatty():
            print(f"\r\x1b[K{what}", end="", file=sys.stderr, flush=True)

    try:
        return probe_modbus(address, progress=progress, **extra)
    finally:
        if sys.stderr.isatty():
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)


def _device(device: ProbedDevice) -> Iterator[str]:
    yield device.source
    if device.identity:
        yield "  " + device.identity
    for model in device.models:
        yield from _model(model)
    if device.values:
        yield from _table(device.values)
    if device.readings:
        yield tr("  Would be recorded as:")
        yield from (f"    {name:<24} {_number(value)}" for name, value in device.readings.items())
    if device.models:
        known = (
            tr("  Role: {role}, a guess ({why})") if device.role_guess else tr("  Role: not known ({why})")
        )
        yield known.format(role=device.role_guess, why=device.why)
    if 0 < device.most_registers < _PROTOCOLS_LIMIT:
        yield tr("  At most {count} registers in one read").format(count=device.most_registers)
    yield from (tr("  Note: {note}").format(note=note) for note in device.notes)
    if device.suggestion:
        yield ""
        yield tr("  To start from:")
        yield from ("    " + line for line in device.suggestion.splitlines())


def _model(model: ProbedModel) -> Iterator[str]:
    yield tr("  Model {number} {name} at {address}, {length} registers").format(
        number=model.number, name=model.name, address=model.address, length=model.length
    )
    yield from _table([value for value in model.values if value.verdict != "no reading"])


def _table(values: Sequence[ProbedValue]) -> Iterator[str]:
    for value in values:
        raw = value.raw if len(value.raw) <= 19 else value.raw[:18] + "…"
        shown = f"{_number(value.value)} {value.unit}".strip()
        verdict = _VERDICTS[value.verdict]
        told = ", ".join(filter(None, (verdict and tr(verdict), value.hint)))
        yield f"    {value.table:<8} {value.address:>5}  {raw:<19}  {value.name:<24} {shown:<16} {told}".rstrip()


def _number(value: float | str | None) -> str:
    if value is None or value != value:
        return tr("no reading")
    return value if isinstance(value, str) else f"{value:.10g}"
