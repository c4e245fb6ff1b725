"""How it went: the trends over the whole time, and each charge session with what it burnt."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from desktop.charging.fuel.runs import Burnt
from desktop.charging.sessions import Session
from desktop.report.account import Account
from desktop.report.blocks import Block, Items, Paragraph, Section, Table
from desktop.report.digits import fuel_places, places
from desktop.report.pictures import Pictures
from desktop.report.sections.facts import doubted
from desktop.report.sections.opening import Opening, usual_of
from desktop.report.times import day_and_minute, length
from desktop.review.brief_over import brief_over
from desktop.review.course import carriers_text, target_phrase
from desktop.words import NOT_KNOWN, Phrase, current, decimal, percent, template, tr

MOST_LISTED = 40
_MOST_BESIDE = 4
"""So many sessions stand side by side, which is easier to read; more stand one below the other."""

_TELLS_SPEED = frozenset({"generator_over_rating", "generator_stopped_under_load", "input_over_limit"})

_ENDS = {
    "normal": template("load taken off first"),
    "under load": template("under load"),
    "dry tank": template("tank was dry"),
    "unclear": template("not clear"),
    "still running": template("still running"),
}

Told = Callable[[Session, Burnt | None], str]


def course(account: Account, pictures: Pictures, opening: Opening) -> Section | None:
    """The course of a recording; None where there is too little of it."""
    if len(account.review) < 2:
        return None
    blocks = (
        *_sessions(account),
        *_remarks(account),
        *_carriers(account),
        *_trends(account, pictures),
        *_usual(account, pictures, opening),
    )
    return Section("course", tr("How it went"), blocks)


def _trends(account: Account, pictures: Pictures) -> Iterator[Block]:
    kinds = {kind for one in account.incidents for kind in one.kind}
    panes = ["powers", "soc"]
    if kinds & _TELLS_SPEED or any(kind.startswith("generator_frequency") for kind in kinds):
        panes.append("generator_frequency")
    if "power_unaccounted" in kinds:
        panes.append("unaccounted")
    caption = tr("All that was recorded. Battery power is above zero while it charges.")
    if account.review.findings:
        caption = tr(
            "All that was recorded. Battery power is above zero while it charges; what is tinted is a finding."
        )
    yield pictures.trends(panes, account.noted(caption))


def _sessions(account: Account) -> Iterator[Block]:
    every = account.review.sessions
    if not every:
        yield Paragraph(tr("The generator carried no load in this recording."))
        return
    fuel = account.review.fuel.sessions
    burnt = [fuel[number] if number < len(fuel) else None for number in range(len(every))]
    caption = tr(
        "Charge sessions: while the generator carried load. Each number is rounded by itself; the last digits of a "
        "sum may be off by one."
    )
    if any(one is not None and math.isfinite(one.amount) for one in burnt):
        caption += " " + tr("Fuel: with warming up and cooling down, as far as they were recorded.")
    rows = list(_rows(account, list(zip(every, burnt, strict=True))))
    if len(every) <= _MOST_BESIDE:
        head = (tr("Start"), *(day_and_minute(one.start, account.review.site.zone) for one in every))
        yield Table(account.noted(caption), head, tuple(rows), frozenset(range(1, len(head))))
        return
    turned = tuple(zip(*(cells for _, *cells in rows), strict=True))
    names = (tr("Start"), *(name for name, *_ in rows))
    starts = [day_and_minute(one.start, account.review.site.zone) for one in every]
    body = tuple((start, *cells) for start, cells in zip(starts, turned, strict=True))
    yield Table(account.noted(caption), names, body[:MOST_LISTED], frozenset(range(1, len(names) - 1)))
    yield from more(len(every) - MOST_LISTED)


def _remarks(account: Account) -> Iterator[Block]:
    """What a reader of the sessions may wonder at: an input above its limit, an end away from the target."""
    review, every = account.review, account.review.sessions[:_MOST_BESIDE]
    many = len(review.sessions) > 1
    items = []
    for session in every:
        for told in (brief_over(review, session), target_phrase(review, session)):
            if told is not None:
                when = day_and_minute(session.start, review.site.zone)
                items.append((f"{when}:" if many else "", str(told)))
    if len(items) == 1 and not many:
        yield Paragraph(items[0][1])
    elif items:
        yield Items(tuple(items))


def _carriers(account: Account) -> Iterator[Block]:
    """Who carried the house and when, where the plant has a grid."""
    head, *lines = [*carriers_text(account.review)] or [""]
    if lines:
        yield Paragraph("", f"{head}:")
        yield Items(tuple(("", line.strip()) for line in lines), small=True)


def _rows(account: Account, every: list[tuple[Session, Burnt | None]]) -> Iterator[tuple[str, ...]]:
    """A row for each quantity: its name, then its value in each session; none where nothing is known of it."""
    for name, told in _quantities(account, every):
        cells = [told(session, burnt) for session, burnt in every]
        if any(cell != "–" for cell in cells):
            yield (name, *cells)


def _quantities(account: Account, every: list[tuple[Session, Burnt | None]]) -> Iterator[tuple[str, Told]]:
    many = len(every) > _MOST_BESIDE
    yield tr("Duration"), lambda one, _: length(one.start, one.end)
    yield doubted(account, tr("Generator, kWh")), lambda one, _: _kwh(account, one.generator_wh, "generator")
    if not many:
        yield doubted(account, tr("To the house, kWh")), lambda one, _: _kwh(account, one.to_load_wh, "load")
    yield (
        doubted(account, tr("To the battery, kWh")),
        lambda one, _: _kwh(account, one.to_battery_wh, "battery"),
    )
    if not many:
        yield doubted(account, tr("Lost, kWh")), lambda one, _: _kwh(account, one.losses_wh, "loss")
    yield tr("State of charge"), lambda one, _: _levels(one)
    yield tr("Mean load"), lambda one, _: _or_dash(percent, 100 * one.mean_load_share)
    if not many:
        yield tr("Highest input"), lambda one, _: _or_dash(current, one.peak_input_a)
    yield from _burning(account, every)
    yield tr("How it stopped"), lambda one, _: tr(_ENDS[one.stop])


def _burning(account: Account, every: list[tuple[Session, Burnt | None]]) -> Iterator[tuple[str, Told]]:
    unit = next((burnt.unit for _, burnt in every if burnt is not None), "")
    if not unit:
        return
    yield (
        doubted(account, str(Phrase("Fuel, {unit}", unit=unit))),
        lambda _, one: (
            "–" if one is None else _or_dash(lambda value: decimal(value, fuel_places(one.sd)), one.amount)
        ),
    )
    yield (
        doubted(account, str(Phrase("{unit} for each kWh", unit=unit))),
        lambda _, one: "–" if one is None else _or_dash(lambda value: decimal(value, 2), one.each_kwh),
    )
    yield (
        tr("Cost"),
        lambda _, one: "–" if one is None else _or_dash(lambda value: decimal(value, 2), one.cost),
    )


def more(count: int) -> Iterator[Block]:
    """What is left of a list that was cut; nothing where it wasn't."""
    if count > 0:
        yield Paragraph(str(Phrase("And {count:d} more.", count=count)), voice="small")


def _levels(session: Session) -> str:
    if not (math.isfinite(session.soc_start) and math.isfinite(session.soc_end)):
        return "–"
    return f"{decimal(session.soc_start, 0)}\u00a0→\u00a0{percent(session.soc_end)}"


def _kwh(account: Account, watt_hours: float, name: str) -> str:
    """`3.91`, for a column that tells the unit, as surely as such an energy is known in the whole recording."""
    if math.isnan(watt_hours):
        return tr(NOT_KNOWN)
    whole = account.review.energy.forward[name]
    share = whole.sd / whole.wh if whole.wh > 0 else math.nan
    return decimal(watt_hours / 1000, places(share * abs(watt_hours) / 1000))


def _or_dash(told: Callable[[float], str], value: float) -> str:
    return told(value) if math.isfinite(value) else "–"


def _usual(account: Account, pictures: Pictures, opening: Opening) -> Iterator[Block]:
    """The longest session as it mostly was, unless the first picture of the report shows it already."""
    longest, first = account.longest, opening.incident
    if longest is None or longest is opening.session or account.in_doubt:
        return
    if first is None or not longest.start <= first.first.start <= longest.end:
        yield usual_of(account, pictures, longest)
