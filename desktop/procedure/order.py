"""The order of steps: what was skipped, how far the charge has come, and what comes next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from desktop.procedure.situation import StepState
from desktop.procedure.step import Step
from desktop.procedure.steps import BY_KEY, NUMBER, STEPS

_ACTS = tuple(step.key for step in STEPS[NUMBER["start"] - 1 :] if step.by_readings and not step.lasting)
"""What moves a charge on once it is under way. While the set stands nothing does but the steps themselves."""


def in_order(states: Sequence[StepState], first_tick: int | None, slack: int) -> tuple[StepState, ...]:
    """With the order looked at, and with what the charge went past.

    first_tick  when a person first said anything of this charge; None where nobody did
    slack       so much later something may be seen than it was, ns
    """
    by_key = {each.step.key: each for each in states}
    ordered = [replace(each, early=_skipped(each, by_key, first_tick, slack)) for each in states]
    reached = how_far(ordered)
    return tuple(
        replace(each, state="not seen") if number < reached and _passed(each) else each
        for number, each in enumerate(ordered)
    )


def how_far(states: Sequence[StepState]) -> int:
    """The place of the last step that shows how far a charge has come; -1 where the set wasn't started."""
    done = {each.step.key for each in states if each.done}
    if not done & {"start", "close"}:
        return -1
    return max((NUMBER[key] - 1 for key in _ACTS if key in done), default=-1)


def next_of(states: Sequence[StepState]) -> StepState | None:
    """The first step that is to be done: of all while the set stands, of those that are left afterwards."""
    left = states[how_far(states) + 1 :]
    # Who takes loads off doesn't wait for the target any more.
    ending = any(each.done for each in left if each.step.key == "loads_off")
    gone = ("target",) if ending else ()
    return next((each for each in left if _to_be_done(each) and each.step.key not in gone), None)


def _to_be_done(each: StepState) -> bool:
    minded_meanwhile = each.step.lasting and each.alarm
    return not each.done and not minded_meanwhile and each.state not in ("lasting", "not seen")


def _passed(each: StepState) -> bool:
    return each.state == "open" or (each.state == "not now" and not each.alarm)


def _skipped(
    state: StepState, by_key: Mapping[str, StepState], first_tick: int | None, slack: int
) -> Step | None:
    """The first step that comes before this one and wasn't done when this one was.

    Of steps that only a person can tick nobody is told who hadn't begun to tick by then.
    """
    if state.at is None or not state.done:
        return None
    ticking = first_tick is not None and first_tick <= state.at
    for key in state.step.after:
        before = by_key[key]
        late = not before.done or (before.at is not None and before.at > state.at + slack)
        if late and _counts(before, ticking):
            return BY_KEY[key]
    return None


def _counts(before: StepState, ticking: bool) -> bool:
    if not before.step.by_readings or before.state in ("ticked", "overruled"):
        return ticking
    return before.state != "not seen" and (ticking or before.state != "can't tell")
