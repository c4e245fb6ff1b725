"""The steps before the generator is started."""

from __future__ import annotations

from desktop.procedure.step import Step
from desktop.words import Phrase

PREPARING: tuple[Step, ...] = (
    Step(
        "outdoors",
        "before",
        Phrase(
            "Put the generator outdoors, well away from doors, windows and vents, with its exhaust pointing away."
        ),
        Phrase(
            "Exhaust gas gathers in garages, sheds, cellars and porches, even while their doors are open."
        ),
        Phrase("Exhaust gas kills without warning. Common advice is 7.5 m (25 ft) from the house or more."),
    ),
    Step(
        "alarms",
        "before",
        Phrase("Test the carbon monoxide alarms on each floor and where people sleep."),
        Phrase("Nobody smells carbon monoxide."),
        Phrase("Whoever feels ill goes into fresh air at once and calls for help."),
    ),
    Step(
        "fuel",
        "before",
        Phrase("Check fuel and oil, and fill up while the generator stands and is cold."),
        Phrase("A generator that runs dry drops the house."),
        Phrase("Fuel that is spilt on hot parts can catch fire. Store it outside living areas."),
    ),
    Step(
        "interlock",
        "before",
        Phrase("Check that a transfer switch or an interlock keeps the generator and the grid apart."),
        Phrase("Without one, power runs back into the grid and can kill those who work on it."),
        Phrase(
            "A qualified electrician puts it in, and locks the grid out. Never feed a house through an outlet. "
            "Local codes come first."
        ),
    ),
    Step(
        "limit",
        "before",
        Phrase("Set the AC input limit at or below what the generator can carry where it stands."),
        Phrase(
            "Altitude and heat take from its rating. For hours of charging, {share:%} of it is common practice.",
            share=80,
        ),
        by_readings=True,
    ),
    Step(
        "charger",
        "before",
        Phrase("Enable the charger."),
        Phrase("Else the generator carries the house alone, and the battery stays as it is."),
        by_readings=True,
    ),
    Step(
        "battery",
        "before",
        Phrase("See that the battery is neither too cold nor too hot to be charged."),
        Phrase(
            "Its maker's limits hold; most lithium batteries take lasting harm when charged below freezing."
        ),
        Phrase("Lead-acid batteries give off hydrogen while they charge: ventilate, and keep sparks away."),
        by_readings=True,
    ),
    Step(
        "loads",
        "before",
        Phrase("Switch off large loads in the house."),
        Phrase("Large loads are added one by one once the generator carries the house."),
    ),
    Step(
        "breaker",
        "before",
        Phrase("Switch off the generator's own breaker."),
        Phrase(
            "So the generator starts without load, and the line is energised only when everything is connected."
        ),
    ),
    Step(
        "dead",
        "before",
        Phrase("See that the line from the generator is dead."),
        Phrase("What is connected while the line is dead can't arc, and can't shock."),
        Phrase(
            "A reading is no proof that a line is dead. Whatever has to be opened or touched is tested first, by a "
            "qualified person."
        ),
        by_readings=True,
    ),
    Step(
        "house_end",
        "before",
        Phrase("Connect the cable at the house end first, while the line is dead."),
        Phrase("A generator that is wired for good has nothing to be connected: tick it."),
        Phrase("Use the inlet and the cable that were made for it. Never a cable with two plugs."),
        after=("dead",),
    ),
    Step(
        "source_end",
        "before",
        Phrase("Connect the cable at the generator last."),
        Phrase("So no end of it is ever live in a hand."),
        Phrase("Keep plugs and hands dry. Unroll the cable whole, where nobody trips over it."),
        after=("dead", "house_end"),
    ),
)
