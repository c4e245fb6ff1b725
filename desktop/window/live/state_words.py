"""What a source is doing, how old its newest reading is, and how its recording gets on, in words. Qt-free."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from desktop.words import Phrase, template, tr

if TYPE_CHECKING:
    from desktop.live.recording import Recorded
    from drivers.source import State

PHASES: dict[str, str] = {
    "connecting": template("Connecting"),
    "reading": template("Reading"),
    "waiting": template("Waiting"),
    "ended": template("Ended"),
}


def phase_word(phase: str, stale: bool) -> str:
    """One word for what it is doing."""
    return tr("Stale") if stale and phase == "reading" else tr(PHASES[phase])


def state_text(state: State, name: str, why: str, now: int) -> str:
    """What it is doing, in a line. `now` in UTC nanoseconds."""
    if state.phase == "waiting" and state.retry_at is not None:
        left = max(0, state.retry_at - now) / 1e9
        return str(
            Phrase(
                "{name}: {reason}; next try in {left:time}",
                name=name,
                reason=why or tr("no answer"),
                left=float(math.ceil(left)),
            )
        )
    if why:
        return str(Phrase("{name}: {reason}", name=name, reason=why))
    return name


def age_text(age_s: float) -> str:
    """How old the newest reading is."""
    if math.isnan(age_s):
        return tr("no reading yet")
    return str(Phrase("newest reading {age:time} ago", age=float(math.floor(age_s))))


def recorded_text(recorded: Recorded | None, on: bool) -> str:
    """Where to, how many rows, and what is wrong; "" where nothing is recorded."""
    if recorded is None:
        return ""
    if recorded.trouble:
        return recorded.trouble
    if not recorded.paths:
        return tr("recording begins") if on else ""
    name, rows = recorded.paths[-1].name, f"{recorded.rows:,}".replace(",", "\u202f")
    if on:
        return str(Phrase("{name}: {rows} rows", name=name, rows=rows))
    return str(Phrase("{name}: {rows} rows, closed", name=name, rows=rows))
