"""What to mind while a plan is followed: the lines that fit this plant and this plan."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from desktop.charging.battery.chemistry import chemistry_of
from desktop.charging.outlook.amounts import about
from desktop.charging.outlook.outlook import Outlook
from desktop.site import Appliance, Site
from desktop.words import Phrase

LIGHT_LOAD = 0.3
"""Below this share of its rating a diesel doesn't get hot enough to burn clean (NFPA 110 asks for 30 %)."""

FULL_ENOUGH = 95.0
"""A charge that ends below this isn't a full one for lead-acid."""

COLD_C = 3.0
OFTEN_SERVICED_H = 100.0
"""Small sets want new oil every 50 to 200 hours (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What cautions look at beside the outlook.

    coldest_c   the lowest recorded battery temperature; None where not known
    appliances  that were typed in
    """

    site: Site
    coldest_c: float | None = None
    appliances: tuple[Appliance, ...] = ()


def cautions(found: Outlook, facts: Facts) -> Iterator[Phrase]:
    """The lines that fit, the most dangerous first."""
    if found.chosen.hours_per_day.p50 > 0:
        yield from _of_running()
    yield from _of_battery(found, facts)
    yield from _of_the_set(found, facts)
    yield from _of_appliances(facts)
    yield Phrase("Local codes, the makers' instructions and licensed practice come before this plan.")


def _of_running() -> Iterator[Phrase]:
    yield Phrase(
        "Exhaust gas kills before it is noticed: run the generator outdoors only, 7.5 m (25 ft) or more "
        "from doors and "
        "windows, exhaust pointing away, and keep carbon monoxide alarms with good batteries."
    )
    yield Phrase(
        "Feed the house through its transfer switch or interlock only. Stop the generator and let it cool before "
        "filling up, and keep the fuel outside the living space."
    )


def _of_battery(found: Outlook, facts: Facts) -> Iterator[Phrase]:
    kind = chemistry_of(facts.site.battery)
    if kind is None:
        return
    if kind.lead_acid:
        yield Phrase(
            "Lead-acid batteries give off hydrogen while they are charged: keep the room ventilated."
        )
        if found.chosen.rule.stop_soc < FULL_ENOUGH:
            yield Phrase(
                "Lead-acid batteries want a full charge about once a week, which a stop at {soc:%} doesn't give.",
                soc=found.chosen.rule.stop_soc,
            )
    elif facts.coldest_c is None or facts.coldest_c < COLD_C:
        yield Phrase("Don't let a lithium battery be charged below 0 °C: that damages it for good.")


def _of_the_set(found: Outlook, facts: Facts) -> Iterator[Phrase]:
    chosen, set_ = found.chosen, found.plant.generator
    limit = facts.site.input.limit_a
    if limit is not None and limit * set_.w_per_a > set_.rated_w * (1 + 1e-9):
        yield Phrase(
            "The input limit that is set, {limit:A}, lets through {power:W}: more than the {rated:W} that the "
            "generator can carry.",
            limit=limit,
            power=limit * set_.w_per_a,
            rated=set_.rated_w,
        )
    if facts.site.generator.fuel == "diesel" and chosen.load_share < LIGHT_LOAD:
        yield Phrase(
            "The diesel would carry only {share:%} of its rating while it runs, and soot up: use more of it at a "
            "time.",
            share=100 * chosen.load_share,
        )
    hours = chosen.hours_per_day.p50 * found.question.horizon
    if hours > 0.5 * OFTEN_SERVICED_H:
        yield Phrase(
            "In {days:d} days it would run for some {hours} h: look at the oil every day, and change it when the "
            "generator's manual says, often after every 100 h or less.",
            days=found.question.horizon,
            hours=about(round(hours, -1)),
        )


def _of_appliances(facts: Facts) -> Iterator[Phrase]:
    rating = facts.site.inverter.rated_w
    together = sum(one.watts * one.count for one in facts.appliances)
    if rating is not None and together > rating:
        yield Phrase(
            "All the appliances at once would take {power:W}, more than the inverter's {rating:W}.",
            power=together,
            rating=rating,
        )
