"""The procedure as lines, to be copied and printed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from desktop.procedure.course import Standing, headline, said
from desktop.procedure.situation import STATE_NAMES, StepState
from desktop.procedure.step import PHASES, Step
from desktop.procedure.steps import ALWAYS, NUMBER, STEPS, numbered
from desktop.words import Phrase, tr

Kind = Literal["title", "phase", "step", "state", "why", "caution", "note"]


@dataclass(frozen=True, slots=True)
class Line:
    """A line and what it is."""

    kind: Kind
    text: str


def lines_of(standing: Standing, times: Callable[[int], str], heading: str = "") -> list[Line]:
    """Every step with its state, its reason and its caution.

    times    an instant (UTC nanoseconds) as text
    heading  what it belongs to; empty where it is a plain list
    """
    lines = [Line("title", tr("Charging by generator"))]
    if heading:
        lines.append(Line("note", heading))
    lines += [Line("note", str(ALWAYS)), Line("note", str(headline(standing)))]
    if unseen := unseen_text(standing):
        lines.append(Line("note", unseen))
    phase = None
    for state in standing.steps:
        if state.step.phase != phase:
            phase = state.step.phase
            lines.append(Line("phase", tr(PHASES[phase])))
        lines += _step(state, times)
    return lines


def state_text(state: StepState, times: Callable[[int], str]) -> str:
    """`Seen at 09:36:04`, and what there is to say of it."""
    word = tr(STATE_NAMES[state.state])
    if state.done and state.at is not None:
        word = str(Phrase("{state} at {time}", state=word, time=times(state.at)))
    more = str(said(state))
    return str(Phrase("{state}. {more}", state=word, more=more)) if more else word


def caution_text(state: StepState) -> str:
    """The caution with its word; empty where there is none."""
    caution = state.step.caution
    return str(Phrase("Caution: {caution}", caution=caution)) if caution else ""


def step_text(step: Step) -> str:
    """`11. Connect the cable …`"""
    return str(Phrase("{number:d}. {step}", number=NUMBER[step.key], step=step.text))


def place_text(step: Step) -> str:
    """`Step 11 of 28 · Before starting`."""
    return str(
        Phrase(
            "Step {number:d} of {count:d} · {phase}",
            number=NUMBER[step.key],
            count=len(STEPS),
            phase=PHASES[step.phase],
        )
    )


def unseen_text(standing: Standing) -> str:
    """That the set runs, and what nobody ticked before; empty where there is nothing of that."""
    keys = [each.step.key for each in standing.unseen]
    if not keys:
        return ""
    if len(keys) == 1:
        one = Phrase(
            "The generator runs already. Not seen before it ran: step {number:d}. Tick it if you know it to be "
            "done.",
            number=NUMBER[keys[0]],
        )
        return str(one)
    told = Phrase(
        "The generator runs already. Not seen before it ran: steps {steps}. Tick those that you know to be done.",
        steps=numbered(keys),
    )
    return str(told)


def duties_text(standing: Standing) -> str:
    """What is to be minded all the time; empty where there is nothing of that."""
    found = [
        str(Phrase("{duty} (step {number:d})", duty=each.step.duty, number=NUMBER[each.step.key]))
        for each in standing.duties
    ]
    return str(Phrase("Meanwhile: {duties}.", duties="; ".join(found))) if found else ""


def text_of(lines: list[Line]) -> str:
    """As plain text."""
    marks = {"title": "", "note": "", "phase": "\n", "step": ""}
    return "\n".join(marks.get(line.kind, "    ") + line.text for line in lines) + "\n"


def _step(state: StepState, times: Callable[[int], str]) -> list[Line]:
    box = "[x]" if state.done else "[  ]"
    lines = [Line("step", f"{box} {step_text(state.step)}")]
    if state.state != "open" or said(state):
        lines.append(Line("state", state_text(state, times)))
    if state.step.caution:
        lines.append(Line("caution", caution_text(state)))
    return [*lines, Line("why", str(state.step.why))]
