"""Findings that stand, as they are at an instant: how far and how long they will go on isn't known yet."""

from __future__ import annotations

from desktop.diagnosis.finding import Finding
from desktop.procedure.situation import Situation
from desktop.review.moment import LimitNow
from desktop.words import Phrase, template

LIMITS = frozenset(
    {
        "input_over_limit", "generator_over_rating", "charge_over_limit", "battery_over_voltage",
        "generator_frequency_low", "generator_frequency_high", "generator_voltage_low", "generator_voltage_high",
    }
)  # fmt: skip
NOT_CHARGING = frozenset({"charger_idle", "battery_discharging_on_generator"})
COLD = frozenset({"charging_while_cold"})
TWO_SOURCES = frozenset({"two_sources_live"})

_HELD_AGAINST = {
    "input_over_limit": "input_current",
    "generator_over_rating": "generator_load",
    "charge_over_limit": "charge_current",
    "battery_over_voltage": "battery_voltage",
    "charging_while_cold": "battery_temperature",
    "generator_frequency_low": "generator_frequency",
    "generator_frequency_high": "generator_frequency",
    "generator_voltage_low": "generator_voltage",
    "generator_voltage_high": "generator_voltage",
}
"""Kind of finding → the value that shows it."""

_STEADY = template(
    "Take loads off until it is steady. If it doesn't settle, take all load off the generator."
)
_LIGHTEN = template("Switch off large loads now.")
_STOP_CHARGING = template("Stop charging now, and look at the charger's settings.")

_THEN = {
    "input_over_limit": _LIGHTEN,
    "generator_over_rating": _LIGHTEN,
    "charge_over_limit": template("Lower the charger's limit now."),
    "battery_over_voltage": _STOP_CHARGING,
    "charging_while_cold": template("Stop charging now, until the battery is warm enough."),
    "two_sources_live": template(
        "Touch nothing that is connected. Switch off the generator's breaker, and have a qualified electrician "
        "look at the transfer switch or interlock."
    ),
    "generator_frequency_low": _STEADY,
    "generator_frequency_high": _STEADY,
    "generator_voltage_low": _STEADY,
    "generator_voltage_high": _STEADY,
    "charger_idle": template("See whether the charger is enabled, and what its limit and its voltages are."),
    "battery_discharging_on_generator": template("Take loads off until the generator carries the rest."),
}


def as_it_stands(finding: Finding, now: Situation) -> Phrase:
    """`Generator overloaded since 14:22:45. Generator load 4.63 kW, limit 4.00 kW.`"""
    since = now.clock(template("{title} since {time:clock}."), finding.start, title=finding.title)
    held = _held(finding, now)
    if held is None:
        return since
    bound = _bound(held)
    if bound is None:
        return since
    return Phrase(
        "{since} {label} {value}, limit {bound}.",
        since=since,
        label=held.label,
        value=Phrase(f"{{value:{held.unit}}}", value=held.value),
        bound=Phrase(f"{{value:{held.unit}}}", value=bound),
    )


def what_to_do(finding: Finding) -> Phrase:
    """What to do about it at once."""
    return Phrase(_THEN.get(finding.kind, ""))


def _held(finding: Finding, now: Situation) -> LimitNow | None:
    key = _HELD_AGAINST.get(finding.kind)
    if key is None:
        return None
    found = [one for one in now.limits if one.key.startswith(key) and one.state != "not known"]
    return max(found, key=lambda one: one.state == "over", default=None)


def _bound(held: LimitNow) -> float | None:
    low = held.lower is not None and held.value < held.lower
    return held.lower if low or held.upper is None else held.upper
