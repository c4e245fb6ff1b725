"""The whole procedure, in its order.

The order is that of good practice: the house end of the cable is connected while the line is dead, the source
last; the line is energised when everything is connected; and the other way round at the end. Common practice,
deferring to local codes, makers' instructions and licensed practice.
"""

from __future__ import annotations

from desktop.procedure.preparing import PREPARING
from desktop.procedure.running import RUNNING
from desktop.procedure.step import Step
from desktop.procedure.stopping import STOPPING
from desktop.words import Phrase

STEPS: tuple[Step, ...] = (*PREPARING, *RUNNING, *STOPPING)

BY_KEY: dict[str, Step] = {step.key: step for step in STEPS}

ALWAYS: Phrase = Phrase(
    "Local codes, the makers' instructions and licensed practice come first. This program is not a protective "
    "device and replaces none. Work on wiring is for qualified persons, and never on live parts."
)
"""What holds for all steps."""
