"""The steps of stopping."""

from __future__ import annotations

from desktop.procedure.step import Step
from desktop.words import Phrase

STOPPING: tuple[Step, ...] = (
    Step(
        "loads_off",
        "stopping",
        Phrase("Switch off large loads."),
        Phrase("The battery has to carry what stays on."),
        after=("carried",),
    ),
    Step(
        "unload",
        "stopping",
        Phrase(
            "Take the load off the generator: switch off the AC input of the inverter-charger, or else the "
            "generator's breaker."
        ),
        Phrase("A generator must not be stopped under load."),
        Phrase(
            "By a switch or a breaker only: a plug that is pulled under load draws an arc. Nothing is unplugged "
            "before the line is dead."
        ),
        after=("carried",),
        by_readings=True,
    ),
    Step(
        "cool",
        "stopping",
        Phrase("Let the generator run on without load for some minutes, as its maker says."),
        Phrase("So heat leaves engine and windings."),
        Phrase("The line may still be live: disconnect nothing yet."),
        after=("unload",),
        by_readings=True,
        by_word=True,
    ),
    Step(
        "stop",
        "stopping",
        Phrase("Stop the generator, and see that the line is dead."),
        Phrase("Only then is anything taken apart."),
        after=("cool",),
        by_readings=True,
    ),
    Step(
        "transfer_back",
        "stopping",
        Phrase("Switch the house back at the transfer switch or interlock."),
        Phrase("As the house is to stand until the next charge."),
        Phrase("What is switched back is live if the grid is: nobody works on anything that it feeds."),
        after=("stop",),
    ),
    Step(
        "part_source",
        "stopping",
        Phrase("Take the cable off at the generator first, while the line is dead."),
        Phrase("A generator that is wired for good stays connected."),
        Phrase("A reading is no proof that a line is dead: breaker off, engine at rest, then the plug."),
        after=("stop",),
    ),
    Step(
        "part_house",
        "stopping",
        Phrase("Take the cable off at the house end last."),
        Phrase("The other way round than it was connected."),
        Phrase("Never while the line is live, and never by pulling at the cable."),
        after=("stop", "part_source"),
    ),
    Step(
        "refuel",
        "stopping",
        Phrase("Refuel when the generator has cooled down."),
        Phrase("So it is ready for the next charge."),
        Phrase("Hot parts light fuel. No smoking, no flames; as its maker says."),
        after=("stop",),
    ),
)
