"""The trade's words that a report uses, and what they mean."""

from __future__ import annotations

from collections.abc import Iterable

from desktop.report.blocks import Section, Terms
from desktop.words import template, tr

_TERMS: tuple[tuple[str, tuple[str, ...], str], ...] = (
    (
        template("AC input limit"),
        (template("input limit"),),
        template(
            "A setting of the inverter-charger: the most current that it may draw from the generator, house and "
            "charging together. It must stay below what the generator can carry."
        ),
    ),
    (
        template("Absorption"),
        (template("absorption"),),
        template(
            "The last part of a charge: the voltage is held, and the battery takes less and less current."
        ),
    ),
    (
        template("AC bus, DC bus"),
        (template("AC bus"), template("DC bus"), template("both buses")),
        template(
            "Where alternating current is shared out (generator, grid, house), and where direct current is "
            "(battery, solar). The inverter-charger stands between the two."
        ),
    ),
    (
        template("Charger limit"),
        (template("charger limit"),),
        template("A setting of the inverter-charger: the most direct current that it gives to the battery."),
    ),
    (
        template("Continuous rating"),
        (
            template("continuous rating"),
            template("can carry"),
            template("generator rating"),
            template("its rating"),
        ),
        template(
            "The power that a generator can carry for hours. The larger number on many plates, the peak, holds for "
            "seconds only; height and heat take some of both."
        ),
    ),
    (
        template("Frequency"),
        (template("frequency"), template("Hz")),
        template(
            "How fast the generator turns: 50 or 60 Hz. It sinks a little under load; sinking far means that the "
            "engine is overloaded."
        ),
    ),
    (
        template("Inverter-charger"),
        (template("inverter-charger"),),
        template(
            "The device that charges the battery from the generator or the grid, and feeds the house from the "
            "battery when neither is there."
        ),
    ),
    (
        template("kW and kWh"),
        (template("kWh"),),
        template("kW is how fast energy flows, kWh how much has flowed: 1 kW for one hour is 1 kWh."),
    ),
    (
        template("Leg"),
        (template("per leg"), template("legs")),
        template(
            "One of the live conductors of an AC supply (a phase). A limit in amperes holds for each leg."
        ),
    ),
    (
        template("Load step"),
        (template("load step"),),
        template("A large appliance that switches on all at once, such as a heater, a pump or a kettle."),
    ),
    (
        template("Losses"),
        (template("losses"),),
        template("What turns into heat on the way, most of it in the inverter-charger."),
    ),
    (
        template("Giving way"),
        (template("gave way"), template("give way"), template("given way")),
        template(
            "The inverter-charger takes less for the battery when the house needs more, so that the input stays "
            "within its limit. That takes some seconds."
        ),
    ),
    (
        template("Reserve and target"),
        (template("reserve"), template("target")),
        template(
            "The state of charge that the battery should not fall below, and the one at which the generator may be "
            "stopped."
        ),
    ),
    (
        template("State of charge"),
        (template("state of charge"),),
        template("How full the battery is, in percent, as its own gauge reckons it."),
    ),
    (
        template("Stopped under load"),
        (template("under load"), template("stopped under load")),
        template(
            "The generator stopped, or its breaker opened, while it still carried power: a trip, not a proper stop."
        ),
    ),
    (
        template("Unaccounted"),
        (template("unaccounted"), template("not seen to leave"), template("goes missing")),
        template(
            "Power that is seen to come in and not to leave, or the other way round. No meter is exact, so a "
            "little is always left; much means an unmetered load, or a meter that reads wrong."
        ),
    ),
)
"""Each term, the words by which it is found, and what it means."""


def glossary(texts: Iterable[str]) -> Section | None:
    """The terms that occur in the texts of the report; None where none does."""
    told = "\n".join(texts).casefold()
    used = sorted(
        (tr(term), tr(meaning))
        for term, words, meaning in _TERMS
        if any(tr(word).casefold() in told for word in words)
    )
    return Section("glossary", tr("Words used"), (Terms(tuple(used)),)) if used else None
