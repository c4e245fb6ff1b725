"""Undoing and doing again: what something was like before each step."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any, Generic, TypeVar

State = TypeVar("State")

MOST_STEPS = 500


class History(Generic[State]):
    """The states that something has been in. A state is a value: nobody changes it once it was given.

    now  the state that it is in
    """

    def __init__(self, now: State) -> None:
        self.now = now
        self._past: list[State] = []
        self._future: list[State] = []
        self._key: Hashable = None

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to take back."""
        return bool(self._past)

    @property
    def can_redo(self) -> bool:
        """Whether a step was taken back that can be done again."""
        return bool(self._future)

    def record(self, state: State, key: Hashable = None) -> None:
        """It is like this now; changes one after the other with the same key, other than None, are one step."""
        if state == self.now:
            return
        if key is None or key != self._key:
            self._past = [*self._past[-MOST_STEPS + 1 :], self.now]
        self.now, self._key = state, key
        self._future.clear()

    def undo(self) -> bool:
        """Take the last step back; False where there is none."""
        return self._go(self._past, self._future)

    def redo(self) -> bool:
        """Do the step again that was taken back last; False where there is none."""
        return self._go(self._future, self._past)

    def _go(self, source: list[State], target: list[State]) -> bool:
        if not source:
            return False
        target.append(self.now)
        self.now, self._key = source.pop(), None
        return True


def typing_key(before: Mapping[Any, Any], after: Mapping[Any, Any]) -> Hashable:
    """A key for `History.record` by which a word that is typed is one step; None for whatever is a step of its own.

    before, after  a table, or a table of tables, of which one text may have changed
    """
    keys = [key for key in {**before, **after} if before.get(key) != after.get(key)]
    if len(keys) != 1:
        return None
    old, new = (_as_table(table.get(keys[0], "")) for table in (before, after))
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        inner = typing_key(old, new)
    else:
        inner = _word(old, new) if isinstance(old, str) and isinstance(new, str) else None
    return None if inner is None else (keys[0], inner)


def _as_table(value: Any) -> Any:
    return dict(enumerate(value)) if isinstance(value, list) else value


def _word(old: str, new: str) -> Hashable:
    """Which word of a text is typed or taken out by one character; None where more has changed."""
    added = new[len(old) :] if new.startswith(old) else ""
    if len(added.strip()) == 1:
        # The space before a word is left out until the word begins.
        return True, sum(character.isspace() for character in new.rstrip()[:-1])
    if abs(len(new) - len(old)) != 1:
        return None
    longer, shorter = (new, old) if len(new) > len(old) else (old, new)
    at = next((place for place, one in enumerate(shorter) if longer[place] != one), len(shorter))
    if longer[:at] + longer[at + 1 :] != shorter:
        return None
    return len(new) > len(old), sum(character.isspace() for character in longer[:at])
