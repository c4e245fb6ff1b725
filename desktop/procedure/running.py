"""The steps from the start of the generator until it charges the battery."""

from __future__ import annotations

from desktop.procedure.step import Step
from desktop.words import Phrase

RUNNING: tuple[Step, ...] = (
    Step(
        "start",
        "starting",
        Phrase("Start the generator without load, as its maker says."),
        Phrase("A cold engine stalls or hunts under load."),
        Phrase("Nobody stands in the exhaust, or works on anything that the line feeds."),
        after=("outdoors", "alarms", "fuel", "interlock", "breaker", "house_end", "source_end"),
        by_readings=True,
    ),
    Step(
        "warm",
        "starting",
        Phrase(
            "Let the generator warm up for some minutes, until frequency and voltage are steady and in their bands."
        ),
        Phrase("An inverter-charger refuses a source outside its window."),
        Phrase("The line may be live by now: touch neither plug nor cable."),
        after=("start",),
        by_readings=True,
        by_word=True,
    ),
    Step(
        "transfer",
        "connecting",
        Phrase("Switch the house over to the generator at the transfer switch or interlock."),
        Phrase("The grid is parted first, the generator joined after it."),
        Phrase("Where anything has to be opened or wired for that, it is work for a qualified electrician."),
        after=("interlock", "warm"),
    ),
    Step(
        "close",
        "connecting",
        Phrase("Close the generator's breaker: the source last."),
        Phrase("Everything behind the breaker is connected by now."),
        Phrase(
            "This energises the line and all that hangs on it: nobody touches plug, cable or wiring. If the "
            "breaker opens again, don't hold it: find out why."
        ),
        after=("limit", "source_end", "warm", "transfer"),
        by_readings=True,
    ),
    Step(
        "seen",
        "connecting",
        Phrase("See that the inverter-charger accepts the generator."),
        Phrase("An inverter-charger may look at the source for some minutes first."),
        after=("close",),
        by_readings=True,
    ),
    Step(
        "carried",
        "connecting",
        Phrase("See that the generator carries the house, then add loads one by one."),
        Phrase("The inverter-charger stops feeding the house from the battery."),
        after=("seen",),
        by_readings=True,
    ),
    Step(
        "charging",
        "watching",
        Phrase("See that the battery is being charged."),
        Phrase("What the house leaves goes into the battery, up to both limits."),
        after=("close",),
        by_readings=True,
    ),
    Step(
        "within",
        "watching",
        Phrase("Keep input current, load, frequency and voltage within their limits."),
        Phrase("Large loads wait until the generator has stopped."),
        Phrase("This program warns and doesn't protect: breakers, fuses and alarms do."),
        after=("close",),
        by_readings=True,
        lasting=True,
        duty=Phrase("keep everything within its limits"),
    ),
    Step(
        "look",
        "watching",
        Phrase(
            "Go and look at the generator now and then: sound, smell, smoke, fuel, and whether plugs or cable get "
            "warm."
        ),
        Phrase("Readings show none of that."),
        Phrase(
            "Stop the generator where anything smells burnt, or when a carbon monoxide alarm sounds. Never refuel "
            "it while it runs."
        ),
        after=("close",),
        lasting=True,
        duty=Phrase("look at the generator now and then"),
    ),
    Step(
        "target",
        "watching",
        Phrase("Charge until the battery has reached its target."),
        Phrase("The last percents are slow and burn much fuel: leave them to the sun."),
        after=("charging",),
        by_readings=True,
        by_word=True,
    ),
)
