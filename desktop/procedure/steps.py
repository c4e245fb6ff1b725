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

NUMBER: dict[str, int] = {step.key: number for number, step in enumerate(STEPS, start=1)}
"""By which each step is called, counted from 1."""

ALWAYS: Phrase = Phrase(
    "Local codes, the makers' instructions and licensed practice come first. This program is not a protective "
    "device and replaces none. Work on wiring is for qualified persons, and never on live parts."
)
"""What holds for all steps."""


def numbered(keys: list[str]) -> str:
    """The numbers of steps, three neighbours and more drawn together: `1–4, 8, 9`."""
    groups: list[list[int]] = []
    for number in sorted(NUMBER[key] for key in keys):
        if groups and number == groups[-1][-1] + 1:
            groups[-1].append(number)
        else:
            groups.append([number])
    return ", ".join(f"{one[0]}–{one[-1]}" if len(one) > 2 else ", ".join(map(str, one)) for one in groups)
