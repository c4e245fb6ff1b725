"""The usual cautions, of this plant: short, and deferring to those who are licensed."""

from __future__ import annotations

from collections.abc import Iterator

from desktop.charging.battery.chemistry import chemistry_of
from desktop.report.blocks import Items, Section
from desktop.review import Review
from desktop.words import template, tr

_GENERATOR = (
    template(
        "Exhaust gas kills without warning. Run a generator outdoors only, well away from doors, windows and "
        "vents, and keep carbon monoxide alarms in the house."
    ),
    template(
        "Never feed a house through an outlet. A transfer switch or an interlock keeps a generator from energising "
        "the grid, and the people who work on it."
    ),
    template("Connect while everything is dead; energise last."),
    template("Refuel a generator only when it stands and has cooled down."),
)
_LEAD = template("Lead-acid batteries give off hydrogen while they charge: ventilate, and keep sparks away.")
_LITHIUM = template("Lithium batteries are not to be charged below freezing.")
_ARCS = template(
    "Direct current draws arcs that don't go out by themselves: switch loads off before opening a connection."
)
_ALWAYS = (
    template("Opening panels, and changing wiring or breakers, is for qualified persons."),
    template(
        "Headrace reads and never writes to a device. It is not a protective device and replaces none: no "
        "breaker, no fuse, no battery management, no alarm."
    ),
    template("Local codes, the makers' instructions and licensed practice come first."),
)


def cautions(review: Review) -> Section:
    """The cautions that fit the plant."""
    return Section("cautions", tr("Cautions"), (Items(tuple(("", tr(one)) for one in _lines(review))),))


def _lines(review: Review) -> Iterator[str]:
    if _has(review, "generator"):
        yield from _GENERATOR
    if _has(review, "battery"):
        kind = chemistry_of(review.site.battery)
        if kind is None or kind.lead_acid:
            yield _LEAD
        if kind is None or not kind.lead_acid:
            yield _LITHIUM
    if _has(review, "battery") or _has(review, "solar"):
        yield _ARCS
    yield from _ALWAYS


def _has(review: Review, part: str) -> bool:
    """True where the recording or the sheet tells of this part of the plant."""
    return review.site.given(part) or any(name.startswith(part) for name in review.recording.channels)
