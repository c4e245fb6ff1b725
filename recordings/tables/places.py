"""Which place a header speaks of, and what is measured there; the AC input and output of an inverter-charger."""

from __future__ import annotations

from collections.abc import Sequence

from recordings.tables.headings import Heading
from recordings.tables.words import UNFIT

_PLACES = (
    "generator",
    "grid",
    "load",
    "consumption",
    "solar",
    "battery",
    "inverter",
    "converter",
    "charger",
)
_QUANTITIES = ("percent", "power", "voltage", "current", "frequency", "temperature")
_WAYS = ("charge", "carga", "discharge", "import", "export", "to", "production", "line", "between", "neutral")
_ALTERNATING = ("frequency", "apparent")
_MOST_PORTS = 9


def quantity_of(heading: Heading) -> str:
    """What is measured, by the unit, else by the words; "" where neither says."""
    if heading.unit is not None:
        return heading.unit.quantity
    if heading.has("apparent"):
        return "apparent"
    # English "current" is also "now", and German "Strom" also electricity: any other quantity comes first.
    return next((quantity for quantity in _QUANTITIES if heading.has(quantity)), "")


def is_unfit(heading: Heading) -> bool:
    """True where the words say that it is no reading of the plant's own streams: a counter, a set point, a cell."""
    if heading.has(*UNFIT, "reactive", "time"):
        return True
    if heading.has("maximum") and not heading.has("limit", "charge", "input", "carga"):
        return True
    return heading.has("energy") and quantity_of(heading) not in ("power", "current")


def subjects_of(heading: Heading) -> set[str]:
    """The places that a header names, with the usual pairs of words made one."""
    found = {word for word in _PLACES if heading.has(word)}
    if "consumption" in found:
        found.discard("consumption")
        # What is consumed from the grid is import; anything else that is consumed is load.
        if "grid" not in found:
            found.add("load")
    for pair, meant in (
        ({"solar", "generator"}, "solar"),
        ({"solar", "inverter"}, "solar"),
        ({"solar", "charger"}, "solar"),
        ({"inverter", "charger"}, "converter"),
        ({"converter", "inverter"}, "converter"),
        ({"battery", "inverter"}, "converter"),
        ({"battery", "charger"}, "charger"),
        ({"generator", "load"}, "generator"),
    ):
        if pair <= found:
            found = (found - pair) | {meant}
    return found


def is_device_named_first(heading: Heading) -> bool:
    """True for `Inverter PV power`: there the inverter is the device that tells, not one of the solar."""
    return heading.says.get("inverter") in ("inverter", "inverters", "inv", "wechselrichter", "wr") and (
        heading.order.index("inverter") < heading.order.index("solar")
    )


def is_both_sources(heading: Heading) -> bool:
    """True for `Grid/Gen`: an input that takes whichever of the two is connected."""
    return subjects_of(heading) == {"grid", "generator"} and not _is_elsewhere(heading)


def is_ac_input(heading: Heading, bare_is_ac: bool) -> bool:
    """True for a reading of an inverter-charger's AC input, whatever feeds it.

    bare_is_ac  in this table `input` alone is the AC input
    """
    if is_both_sources(heading):
        return _is_reading(heading)
    return _is_port(heading, "input", "output", bare_is_ac) and not (
        heading.has("battery") or subjects_of(heading) == {"charger"}
    )


def is_ac_output(heading: Heading, bare_is_ac: bool) -> bool:
    """True for a reading of an inverter-charger's AC output, which feeds the house."""
    return _is_port(heading, "output", "input", bare_is_ac or subjects_of(heading) == {"inverter"})


def bare_ports(headings: Sequence[Heading]) -> frozenset[str]:
    """Of "input" and "output", those that are of the AC side though no header of theirs says AC."""
    return frozenset(
        port
        for port in ("input", "output")
        if any(
            quantity_of(each) in _ALTERNATING
            and _is_port(each, port, {"input": "output", "output": "input"}[port], True)
            for each in headings
        )
    )


def port_number(heading: Heading) -> int | None:
    """Which of several AC inputs it is; None where they aren't numbered."""
    number = heading.number
    return number if number is not None and number <= _MOST_PORTS else None


def _is_port(heading: Heading, port: str, other: str, bare_is_ac: bool) -> bool:
    if not heading.has(port) or heading.has(other, "dc") or _is_elsewhere(heading):
        return False
    said = heading.has("ac") or quantity_of(heading) in _ALTERNATING or bare_is_ac
    return said and subjects_of(heading) <= {"inverter", "converter"} and _is_reading(heading)


def _is_elsewhere(heading: Heading) -> bool:
    return heading.has(*_WAYS, "limit", "maximum", "enabled", "unsettled", "soc", "level", "fuel")


def _is_reading(heading: Heading) -> bool:
    known = quantity_of(heading) in ("", "power", "apparent", "voltage", "current", "frequency")
    return known and not is_unfit(heading) and (heading.unit is not None or not heading.unknown)
