"""Columns that look like measurements and were not understood."""

from __future__ import annotations

import re

from recordings.tables.choice import Choice
from recordings.tables.guesses import guess
from recordings.tables.headings import Heading
from recordings.tables.places import is_ac_input, is_ac_output, is_unfit, quantity_of, subjects_of
from recordings.tables.surroundings import Surroundings
from recordings.tables.understanding import Understanding
from recordings.tables.units import unit_of

_POWERS = ("power", "apparent")
_ELECTRICAL = ("voltage", "current", "frequency")
_SHARES = ("percent", "temperature")
_WITHOUT_CHANNEL = {"grid", "load", "solar", "inverter", "converter", "charger"}
"""Places whose voltage, current and frequency the program has no use for."""


def unclear(understood: Understanding, choice: Choice) -> list[Heading]:
    """Columns of numbers whose header carries a unit or names a quantity, and of which nobody knows what it is.

    Counters, set points, cells, flows from one place to another and the like are known, and have no channel.
    """
    return [
        each
        for each in understood.headings
        if each.index not in choice.taken
        and understood.numeric[each.index] > 0
        and is_unclear(each, understood.around)
    ]


def is_unclear(heading: Heading, around: Surroundings) -> bool:
    """True for a header of a measurement that isn't understood."""
    quantity = quantity_of(heading)
    if not quantity and _names_a_unit(heading.name) and not is_unfit(heading):
        return guess(heading, around) is None
    if quantity == "percent" and _may_be_charge(heading):
        return guess(heading, around) is None
    if not quantity and heading.has("ac") and heading.has("input", "output") and not is_unfit(heading):
        return guess(heading, around) is None and not heading.unknown
    if quantity not in (*_POWERS, *_ELECTRICAL, *_SHARES) or is_unfit(heading):
        return False
    if is_ac_input(heading, "input" in around.bare_ports):
        return not _is_fed_by_grid(heading, around) or quantity in _POWERS
    if guess(heading, around) or heading.has("limit", "maximum", "enabled"):
        return False
    if quantity in _POWERS:
        return not _flows_between(heading)
    places = subjects_of(heading)
    if quantity in _SHARES:
        return not places or places == {"battery"}
    if is_ac_output(heading, "output" in around.bare_ports) or heading.has("between", "neutral", "line"):
        return False
    return heading.legs < 2 and (heading.has("dc") or not (places and places <= _WITHOUT_CHANNEL))


def _names_a_unit(name: str) -> bool:
    """True for `hz` and `kw gen old`: a unit stands where none is looked for."""
    words = [name.strip(), *(word for word in re.split(r"[\W_]+", name) if len(word) > 1)]
    found = [unit for unit in map(unit_of, words) if unit is not None]
    return any(unit.quantity in (*_POWERS, *_ELECTRICAL) for unit in found)


def _may_be_charge(heading: Heading) -> bool:
    """True for a capacity in percent: what is left in the battery, or what it has lost by age."""
    capacity = heading.says.get("rating", "").startswith(("capaci", "kapazitat"))
    return capacity and subjects_of(heading) <= {"battery"}


def _is_fed_by_grid(heading: Heading, around: Surroundings) -> bool:
    return any(feed.source == "grid" for feed in around.feeds.values())


def _flows_between(heading: Heading) -> bool:
    places = subjects_of(heading)
    sourced = places in ({"grid"}, {"solar"}, {"generator"}) and heading.has("charge", "carga")
    return sourced or (bool(places) and heading.has("to", "from", "import", "export", "consumption"))
