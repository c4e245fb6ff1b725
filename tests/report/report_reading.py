"""Reads reports back as a stranger's program would: HTML into a tree, PDF into pages of text."""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "br", "hr", "img", "input", "link"}


@dataclass
class Element:
    """An element with its attributes, its children and texts in order."""

    tag: str
    attributes: dict[str, str] = field(default_factory=dict)
    inside: list = field(default_factory=list)

    def every(self, *tags):
        """All elements below with one of these tags (any, without tags), in order."""
        for one in self.inside:
            if isinstance(one, Element):
                if not tags or one.tag in tags:
                    yield one
                yield from one.every(*tags)

    def with_id(self, name):
        """The element below that has this id."""
        return next(one for one in self.every() if one.attributes.get("id") == name)

    @property
    def text(self) -> str:
        """All its text, with single blanks."""
        parts = [one.text if isinstance(one, Element) else one for one in self.inside]
        return " ".join("".join(parts).split())


class _Reader(HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.root = Element("")
        self.open = [self.root]

    def handle_starttag(self, tag, attrs):
        element = Element(tag, {name: value or "" for name, value in attrs})
        self.open[-1].inside.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        self.open = self.open[: len(self.open) - (tag not in VOID)]

    def handle_endtag(self, tag):
        assert self.open[-1].tag == tag, f"<{self.open[-1].tag}> is closed by </{tag}>"
        self.open.pop()

    def handle_data(self, data):
        self.open[-1].inside.append(data)


def read_html(text: str) -> Element:
    """The document; an AssertionError where an element isn't closed by its own tag."""
    reader = _Reader()
    reader.feed(text)
    reader.close()
    assert reader.open == [reader.root]
    return reader.root


def cells(table: Element) -> list[list[str]]:
    """The texts of a table, row by row, head first."""
    return [[cell.text for cell in row.every("th", "td")] for row in table.every("tr")]


def pdf_pages(content: bytes) -> list[str]:
    """The text of each page without its blanks, as a reader finds it by the fonts' maps to Unicode."""
    objects = {int(n): body for n, body in re.findall(rb"(\d+) 0 obj\s(.*?)\sendobj", content, re.DOTALL)}
    fonts = {name: _letters(objects, int(n)) for name, n in _font_names(objects)}
    pages = (body for body in objects.values() if re.search(rb"/Type /Page\b(?!s)", body))
    streams = [_stream(objects, int(re.search(rb"/Contents (\d+) 0 R", body)[1])) for body in pages]
    return [_text(stream, fonts) for stream in streams]


def _font_names(objects):
    return {pair for body in objects.values() for pair in re.findall(rb"/(F\d+) (\d+) 0 R", body)}


def _stream(objects, number):
    head, _, rest = objects[number].partition(b"stream")
    inside = rest.lstrip(b"\r\n").rpartition(b"endstream")[0]
    return zlib.decompressobj().decompress(inside) if b"/FlateDecode" in head else inside


def _letters(objects, number):
    told = _stream(objects, int(re.search(rb"/ToUnicode (\d+) 0 R", objects[number])[1])).decode("latin-1")
    letters = {}
    for block in re.findall(r"beginbfrange(.*?)endbfrange", told, re.DOTALL):
        for first, last, text in re.findall(r"<(\w+)> <(\w+)> <(\w+)>", block):
            for glyph in range(int(first, 16), int(last, 16) + 1):
                letters[glyph] = chr(int(text, 16) + glyph - int(first, 16))
        for first, listed in re.findall(r"<(\w+)> <\w+> \[(.*?)\]", block, re.DOTALL):
            for step, text in enumerate(re.findall(r"<(\w+)>", listed)):
                letters[int(first, 16) + step] = bytes.fromhex(text).decode("utf-16-be")
    for block in re.findall(r"beginbfchar(.*?)endbfchar", told, re.DOTALL):
        for glyph, text in re.findall(r"<(\w+)> <(\w+)>", block):
            letters[int(glyph, 16)] = bytes.fromhex(text).decode("utf-16-be")
    return letters


def _text(stream, fonts):
    told, letters = [], {}
    for font, glyphs in re.findall(rb"/(F\d+) [\d.]+ Tf|<([0-9a-fA-F]+)> Tj", stream):
        if font:
            letters = fonts[font]
        else:
            told += [letters.get(int(glyphs[at : at + 4], 16), "") for at in range(0, len(glyphs), 4)]
    return "".join("".join(told).split())


def closed_up(text: str) -> str:
    """A text as `pdf_pages` gives it: without blanks."""
    return "".join(text.split())
