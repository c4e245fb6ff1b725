"""What the site sheet says, and what is assumed where it doesn't."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from desktop.channel_names import CHANNEL_NAMES
from desktop.report.blocks import Block, Section, Table
from desktop.report.untrusted import plain
from desktop.review import Review
from desktop.sheet.facts import CHOICES
from desktop.sheet.keys import KEYS, SECTIONS, Key
from desktop.sheet.numbers import shown
from desktop.site import Meter, Site
from desktop.words import Phrase, decimal, template, tr

_KEYS = {key.path: key for key in KEYS}
_ORIGINS = {"given": template("site sheet"), "assumed": template("assumed")}


def settings(review: Review) -> Section:
    """The settings and ratings that the report rests on."""
    rows = (*_sheet(review), *_meters(review.site), *_conversion(review))
    head = (tr("Of"), tr("Setting"), tr("Value"), tr("Where from"))
    caption = tr(
        "What the report rests on. What is assumed should be checked, and written into the site sheet."
    )
    blocks: tuple[Block, ...] = (Table(caption, head, rows),)
    return Section("settings", tr("Settings and what is assumed"), blocks)


def _sheet(review: Review) -> Iterator[tuple[str, ...]]:
    gas = review.site.generator.fuel == "natural gas"
    for section, name, value, origin in review.site.items():
        if section != "site" and not section.startswith("meters."):
            key = _KEYS[section, name]
            yield tr(SECTIONS[section]), tr(key.label), _value(key, value, gas), tr(_ORIGINS[origin])


def _meters(site: Site) -> Iterator[tuple[str, ...]]:
    """A row for each meter that the sheet names, and one for all others."""
    for channel, meter in site.meters.items():
        yield tr("Meter"), tr(CHANNEL_NAMES[channel]), _class(meter), tr(_ORIGINS["given"])
    # A sheet that says nothing of meters has the class that is assumed of all.
    yield (
        tr("Meter"),
        tr("all others") if site.meters else tr("all"),
        _class(Meter()),
        tr(_ORIGINS["assumed"]),
    )


def _class(meter: Meter) -> str:
    return str(
        Phrase(
            "{percent} of the reading, and {floor:W}",
            percent=f"{shown(meter.percent)} %",
            floor=meter.floor_w,
        )
    )


def _value(key: Key, value: Any, gas: bool) -> str:
    if value is True or value is False:
        return tr("yes") if value else tr("no")
    if isinstance(value, str):
        return tr(CHOICES[value]) if value in CHOICES else plain(value)
    if key.unit in ("W", "A", "V", "Hz", "%", "°C"):
        return str(Phrase(f"{{value:{key.unit}}}", value=float(value)))
    unit = key.unit.replace("L", "m³") if gas else key.unit
    return f"{shown(value)} {tr(unit) if unit else ''}".strip()


def _conversion(review: Review) -> Iterator[tuple[str, ...]]:
    conversion = review.conversion
    loss = Phrase(
        "{idle:W} and {slope} of the power",
        idle=conversion.idle_w,
        slope=f"{decimal(100 * conversion.slope, 1)} %",
    )
    fitted = conversion.source == "fitted"
    origin = tr("from this recording") if fitted else tr("assumed")
    yield tr("Inverter-charger"), tr("Loss"), str(loss), origin
