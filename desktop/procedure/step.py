"""What a step of the procedure is."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from desktop.words import Phrase, template, word_in

Phase = Literal["before", "starting", "connecting", "watching", "stopping"]

PHASES: dict[Phase, str] = {
    "before": template("Before starting"),
    "starting": template("Starting"),
    "connecting": word_in("phase of the procedure", "Connecting"),
    "watching": template("Watching"),
    "stopping": template("Stopping"),
}
"""The phases in their order, with their names."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, or to see.

    text     what to do
    why      the reason, short
    caution  what can hurt here; empty where nothing of its own does
    after    keys of the steps that come before it, whatever else is done in between
    by_readings  True where readings can tell that it is done
    lasting  True for a duty that holds as long as the generator carries load
    duty     such a duty in few words
    by_word  True where readings can tell, and a person may say so before they do: a clock runs, or it is a choice
    """

    key: str
    phase: Phase
    text: Phrase
    why: Phrase
    caution: Phrase = field(default_factory=lambda: Phrase(""))
    after: tuple[str, ...] = ()
    by_readings: bool = False
    lasting: bool = False
    by_word: bool = False
    duty: Phrase = field(default_factory=lambda: Phrase(""))
