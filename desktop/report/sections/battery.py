"""What the recording tells of the battery, for those who own it."""

from __future__ import annotations

from collections.abc import Iterator

from desktop.charging.battery.facts import BatteryFacts, Estimate
from desktop.report.account import Account
from desktop.report.blocks import Items, Paragraph, Section
from desktop.report.digits import places
from desktop.review.battery import battery_text
from desktop.words import Phrase, decimal, energy, percent, tr

_Z = 1.96
"""Intervals are 95 %: so many standard deviations to either side."""


def battery(account: Account) -> Section | None:
    """The battery; None where nothing is known of it."""
    facts = account.review.battery
    told = [*_held(facts), *_returned(facts)] or battery_text(facts)
    if not told:
        return None
    blocks: tuple[Items | Paragraph, ...] = (Items(tuple(("", line) for line in told), whole=True),)
    if account.note:
        blocks += (Paragraph(account.note, voice="small"),)
    return Section("battery", tr("Battery"), blocks)


def _held(facts: BatteryFacts) -> Iterator[str]:
    held, fill = facts.capacity_wh, facts.fill_wh
    if held.origin == "measured":
        low, value, high = _kwh(held)
        yield str(
            Phrase(
                "From full to empty it delivers {value} kWh; between {low} and {high} in 19 of 20 cases.",
                value=value,
                low=low,
                high=high,
            )
        )
        if facts.half_cycles < 2:
            yield tr("That is told from one charge or discharge: more of them would tell it better.")
    elif held.known:
        yield str(Phrase("By the site sheet the battery holds {value}.", value=energy(held.value)))
    if fill.origin == "measured":
        low, value, high = _kwh(fill)
        yield str(
            Phrase(
                "From empty to full it takes {value} kWh; between {low} and {high} in 19 of 20 cases.",
                value=value,
                low=low,
                high=high,
            )
        )


def _returned(facts: BatteryFacts) -> Iterator[str]:
    whole = facts.energy_efficiency
    if whole.known:
        assumed = whole.origin == "assumed"
        told = Phrase(
            "Of what is put in over a whole charge {low} to {high} comes back.",
            low=percent(100 * whole.low),
            high=percent(100 * whole.high),
        )
        yield str(told) + (f" {tr('How much is lost near full is assumed by chemistry.')}" if assumed else "")


def _kwh(estimate: Estimate) -> tuple[str, str, str]:
    sd = (estimate.high - estimate.low) / (2 * _Z) / 1000
    low, value, high = (
        decimal(each / 1000, places(sd)) for each in (estimate.low, estimate.value, estimate.high)
    )
    return low, value, high
