"""What is wrong with notes that are being written: told when a note is left or saved, and forgotten once mended."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from desktop.picture.diagram.parts import part_name
from desktop.review import Review
from desktop.teaching.draft import NotesDraft
from desktop.teaching.faults import Fault, faults_of
from desktop.window.teaching.note_form import NoteForm


class FaultTelling:
    """Knows what was told; the form says beside its fields what is wrong in the note that it shows.

    told  the faults that were told and are still there
    """

    def __init__(self, review: Review, form: NoteForm) -> None:
        self._review, self._form = review, form
        self._beside: frozenset[str] = frozenset()
        self.told: list[Fault] = []

    @property
    def first(self) -> Fault | None:
        """The one to say above all; those that block come first."""
        return min(self.told, key=lambda each: not each.blocks, default=None)

    def forget(self) -> None:
        """Say nothing; also of a new note, which can't be right yet."""
        self.told = []
        self._say([])

    def leave(self, draft: NotesDraft, row: int) -> None:
        """Another note is gone to."""
        self.told = self._faults_in(draft.tables, row)

    def arrive(self, draft: NotesDraft, row: int) -> None:
        """A note is shown that was left before."""
        self._say(self._faults_in(draft.tables, row))

    def edited(self, draft: NotesDraft, row: int) -> None:
        """The note that is shown is otherwise: nothing new is told, and nothing any more that is right now."""
        found = self._faults_in(draft.tables, row)
        self._say([each for each in found if each.field in self._beside])
        fields = {each.field: each for each in reversed(found)}
        told = [fields.get(each.field) if each.note == row else each for each in self.told]
        self.told = [each for each in told if each is not None]

    def heads_edited(self, draft: NotesDraft) -> None:
        """The same for what stands above the notes."""
        found = {each.field: each for each in faults_of(draft.heads, [], self._review)}
        told = [found.get(each.field) if each.note is None else each for each in self.told]
        self.told = [each for each in told if each is not None]

    def check(self, draft: NotesDraft) -> Fault | None:
        """Look at everything; the first that blocks."""
        self.told = faults_of(draft.heads, draft.tables, self._review, part_name)
        return next((each for each in self.told if each.blocks), None)

    def _faults_in(self, tables: Sequence[Mapping[str, Any]], row: int) -> list[Fault]:
        """What is wrong with one note, which may be that it comes before the one above it."""
        if not 0 <= row < len(tables):
            return []
        first = max(row - 1, 0)
        found = faults_of({}, tables[first : row + 1], self._review, part_name)
        return [replace(each, note=row) for each in found if each.note == row - first]

    def _say(self, found: Sequence[Fault]) -> None:
        texts = {each.field: str(each.text) for each in reversed(found)}
        self._form.show_faults(texts)
        self._beside = frozenset(texts)
