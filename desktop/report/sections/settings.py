"""What the site sheet says, and what is assumed where it doesn't."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from desktop.report.account import Account
from desktop.report.blocks import Block, Items, Paragraph, Section, Table
from desktop.report.untrusted import plain
from desktop.review import Review
from desktop.sheet.channels import label
from desktop.sheet.facts import CHOICES
from desktop.sheet.keys import KEYS, SECTIONS, Key
from desktop.sheet.numbers import shown
from desktop.site import Meter, Site
from desktop.words import Phrase, decimal, template, tr

_KEYS = {key.path: key for key in KEYS}
_ORIGINS = {"given": template("site sheet"), "assumed": template("assumed")}


def settings(account: Account) -> Section:
    """The settings and ratings that the report rests on: what is assumed, then what the sheet says, by part."""
    review = account.figures.recorded
    given, assumed = _sheet(review)
    other, more = _meters(review.site)
    given |= other
    assumed += [*more, *_conversion(review)]
    blocks: list[Block] = []
    if assumed:
        head = (tr("Of"), tr("Setting"), tr("Value"), tr("Where from"))
        caption = tr("What is assumed should be checked, and written into the site sheet.")
        blocks.append(Table(caption, head, tuple(assumed)))
    if given:
        blocks.append(Paragraph(tr("By the site sheet:")))
        items = tuple((f"{part}:", f"{'; '.join(values)}.") for part, values in given.items())
        blocks.append(Items(items, whole=True, small=True))
    return Section("settings", tr("Settings and what is assumed"), tuple(blocks))


def _sheet(review: Review) -> tuple[dict[str, list[str]], list[tuple[str, ...]]]:
    """Part → what the sheet says of it; and rows of what is assumed."""
    gas = review.site.generator.fuel == "natural gas"
    given: dict[str, list[str]] = {}
    assumed: list[tuple[str, ...]] = []
    for section, name, value, origin in review.site.items():
        if section == "site" or section.startswith("meters."):
            continue
        key = _KEYS[section, name]
        part, shown_value = tr(SECTIONS[section]), _value(key, value, gas)
        if origin == "given":
            given.setdefault(part, []).append(_named(tr(key.label), shown_value))
        else:
            assumed.append((part, tr(key.label), shown_value, tr(_ORIGINS[origin])))
    return given, assumed


def _named(what: str, value: str) -> str:
    return str(Phrase("{what} {value}", what=what, value=value))


def _meters(site: Site) -> tuple[dict[str, list[str]], list[tuple[str, ...]]]:
    """The class of each meter that the sheet names; and that of all others, which is assumed."""
    named = [_named(label(channel), _class(meter)) for channel, meter in site.meters.items()]
    # A sheet that says nothing of meters has the class that is assumed of all.
    others = tr("all others") if site.meters else tr("all")
    row = (tr("Meters"), others, _class(Meter()), tr(_ORIGINS["assumed"]))
    return ({tr("Meters"): named} if named else {}), [row]


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
