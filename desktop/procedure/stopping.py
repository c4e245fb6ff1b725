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
        Phrase("Take the load off the generator: its breaker off, or its input disabled."),
        Phrase("It must not be stopped under load."),
        after=("carried",),
        by_readings=True,
    ),
    Step(
        "cool",
        "stopping",
        Phrase("Let it run on without load for some minutes, as its maker says."),
        Phrase("So heat leaves engine and windings."),
        after=("unload",),
        by_readings=True,
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
        Phrase("As it is to stand until the next charge."),
        after=("stop",),
    ),
    Step(
        "part_source",
        "stopping",
        Phrase("Take the cable off at the generator first, while the line is dead."),
        Phrase("A set that is wired for good stays connected."),
        Phrase("A reading is no proof that a line is dead: breaker off, engine at rest, then the plug."),
        after=("stop",),
    ),
    Step(
        "part_house",
        "stopping",
        Phrase("Take it off at the house end last."),
        Phrase("The other way round than it was connected."),
        after=("stop", "part_source"),
    ),
    Step(
        "refuel",
        "stopping",
        Phrase("Refuel when it has cooled down."),
        Phrase("So it is ready for the next charge."),
        Phrase("Hot parts light fuel. No smoking, no flames; as its maker says."),
        after=("stop",),
    ),
)
