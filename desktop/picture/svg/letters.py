"""How wide letters are where no font can be asked: the widths of a common sans-serif."""

from __future__ import annotations

FAMILY = "Helvetica, Arial, 'Liberation Sans', 'Nimbus Sans', sans-serif"

EM_PX = 13.0
"""Height of the letters of size 1, px."""

_LINE = 1.25
_BOLD = 1.06
_OTHER = 0.6

_WIDTHS = {
    0.222: "ijl",
    0.278: " !,./:;fItÍÌíìî·'|",
    0.333: "()-r²³`",
    0.389: "*",
    0.4: "°",
    0.5: "ckJsvxyzç",
    0.556: '#$0123456789?abdeghnopquLäöüßéèêáàâóòôúùû–_"',
    0.584: "+<=>±−×≥≤~^",
    0.611: "FTZ",
    0.667: "&ABEKPSVXYÄ",
    0.722: "CDHNRUwÜ",
    0.778: "GOQÖ",
    0.833: "Mm",
    0.889: "%",
    0.944: "W",
    1.0: "—…→←√∞",
    1.015: "@",
}
"""Advance widths in em of Helvetica and those drawn to its measure, quoted from memory."""

_WIDTH_OF = {letter: width for width, letters in _WIDTHS.items() for letter in letters}


def text_width(text: str, size: float = 1.0, bold: bool = False) -> float:
    """Width of a line of text, px."""
    width = sum(_WIDTH_OF.get(letter, _OTHER) for letter in text) * size * EM_PX
    return width * _BOLD if bold else width


def measure(text: str, size: float, bold: bool) -> tuple[float, float]:
    """As `Measure`: width and height of a line of text, px."""
    return text_width(text, size, bold), size * EM_PX * _LINE
