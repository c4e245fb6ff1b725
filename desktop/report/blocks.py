"""What a report is made of. Every text is as it is read: in the language that was spoken when it was made.

No text is markup. Those that set a page escape every one of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from desktop.diagnosis.finding import Severity

Voice = Literal["plain", "lead", "small"]

_MOST_WIDE = 6
_SHORT = 14


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph. `label` begins it in bold."""

    text: str
    label: str = ""
    voice: Voice = "plain"


@dataclass(frozen=True, slots=True)
class Items:
    """A list. Each item is a label, which may be empty, and a text.

    whole  it is not parted over two pages
    small  it is set in smaller letters, for those who look something up
    """

    items: tuple[tuple[str, str], ...]
    ordered: bool = False
    whole: bool = False
    small: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """A few numbers that matter most, side by side: each as it is read, and what it is."""

    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table whose first column names its rows.

    numeric  the columns of numbers, which stand right
    totals   so many of the last rows are sums
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: frozenset[int] = frozenset()
    totals: int = 0

    @property
    def dense(self) -> bool:
        """True where it has so many columns that its letters must be small."""
        return len(self.head) > _MOST_WIDE

    @property
    def whole(self) -> bool:
        """True where it is too short to be parted over two pages."""
        return len(self.rows) <= _SHORT


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture with its number and caption.

    key    names it among the pictures of the page: letters, digits and hyphens
    svg    one SVG element, made by `desktop.picture.svg`
    tall   it may take much of a page's height
    narrow the same for a screen as narrow as a telephone's; empty where there is no other
    """

    key: str
    number: int
    caption: str
    svg: str
    tall: bool = False
    narrow: str = ""


@dataclass(frozen=True, slots=True)
class Terms:
    """Words and what they mean."""

    terms: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Marked:
    """Something with a severity: a mark, a word, a title, when it was, and what is told of it."""

    severity: Severity
    word: str
    title: str
    when: str
    inside: tuple[Plain, ...]


Plain = Paragraph | Items | Facts | Table | Figure | Terms
Block = Plain | Marked


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and what stands below it. `key` names it on the page."""

    key: str
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """A whole report.

    language  code of the language that it is written in (BCP 47)
    title     what was recorded: a site or a file
    subtitle  when, and for how long
    severity  of the worst finding; None where there is none
    verdict   what it comes to, in one sentence
    opening   what stands beside the verdict, before the first heading
    footer    a line for the foot of each printed page
    """

    language: str
    title: str
    subtitle: str
    severity: Severity | None
    verdict: str
    opening: tuple[Block, ...]
    sections: tuple[Section, ...]
    footer: str


def texts(block: Block) -> tuple[str, ...]:
    """Every text of a block, those in pictures apart."""
    match block:
        case Paragraph():
            return block.label, block.text
        case Items() | Terms():
            pairs = block.items if isinstance(block, Items) else block.terms
            return tuple(text for pair in pairs for text in pair)
        case Facts():
            return tuple(text for fact in block.facts for text in fact)
        case Table():
            return block.caption, *block.head, *(cell for row in block.rows for cell in row)
        case Figure():
            return (block.caption,)
        case Marked():
            return block.title, *(text for each in block.inside for text in texts(each))
