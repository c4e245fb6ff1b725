"""Finds the texts of the demo recordings and of the lessons on them for `pybabel extract`."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any, BinaryIO

Found = tuple[int, str | None, str, list[str]]


def extract(file: BinaryIO, keywords: Any, comment_tags: Any, options: Any) -> Iterator[Found]:
    """Title and what to look for of each demo of an index. A method of extraction as Babel calls it."""
    for demo in tomllib.load(file)["demo"]:
        for key in ("title", "look_for"):
            yield 1, None, demo[key], []


def extract_lesson(file: BinaryIO, keywords: Any, comment_tags: Any, options: Any) -> Iterator[Found]:
    """All that a file of notes says. A method of extraction as Babel calls it."""
    lesson = tomllib.load(file)
    told = [lesson.get("title"), lesson.get("about")]
    for note in lesson["note"]:
        asked = note.get("question", {})
        told += [note["text"], asked.get("ask"), *asked.get("choices", ()), asked.get("explain")]
    for text in told:
        if text:
            yield 1, None, text, []
