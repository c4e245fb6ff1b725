"""The usual cautions: short, and deferring to those who are licensed."""

from __future__ import annotations

from desktop.words import template

GENERATOR: tuple[str, ...] = (
    template(
        "Exhaust gas kills without warning. Run a generator outdoors only, well away from doors, windows and "
        "vents, and keep carbon monoxide alarms in the house."
    ),
    template(
        "Never feed a house through an outlet. A transfer switch or an interlock keeps a generator from energising "
        "the grid, and the people who work on it."
    ),
    template("Connect while everything is dead; energise last."),
    template(
        "Take the load off before a generator is stopped, and disconnect nothing before its line is dead. A "
        "reading is no proof of that."
    ),
    template("Refuel a generator only when it stands and has cooled down."),
)

LEAD_ACID = template(
    "Lead-acid batteries give off hydrogen while they charge: ventilate, and keep sparks away."
)

LITHIUM = template("Lithium batteries are not to be charged below freezing.")

DIRECT_CURRENT = template(
    "Direct current draws arcs that don't go out by themselves: switch loads off before opening a connection."
)

QUALIFIED = template("Opening panels, and changing wiring or breakers, is for qualified persons.")

NO_PROTECTION = template(
    "Headrace reads and never writes to a device. It is not a protective device and replaces none: no "
    "breaker, no fuse, no battery management, no alarm."
)

COME_FIRST = template("Local codes, the makers' instructions and licensed practice come first.")

ALL: tuple[str, ...] = (
    NO_PROTECTION,
    COME_FIRST,
    *GENERATOR,
    LEAD_ACID,
    LITHIUM,
    DIRECT_CURRENT,
    QUALIFIED,
)
"""All of them, in the order in which they are shown where no plant is known."""
