"""How columns, their uses and what they are read as are put into words."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from desktop import words
from desktop.sheet.channels import label
from desktop.sheet.columns import Use
from desktop.window.columns.preview import Tried
from desktop.words import Phrase, tr
from recordings.channels import CHANNELS
from recordings.errors import HeadraceError
from recordings.tables import ColumnGuess

IN_BALANCE = 0.8
"""The share of rows that must pass the balance for the columns to be believed; 95 % pass where all is well."""

_DATE = re.compile(r"\b(\d{1,2})[./-](\d{1,2})[./-](\d{2,4})\b")
_SHOWN: dict[str, Callable[[float], str]] = {
    "W": words.power,
    "V": words.voltage,
    "A": words.current,
    "Hz": words.frequency,
    "%": words.percent,
    "°C": words.temperature,
}


def header(column: ColumnGuess) -> str:
    """What the column is called in the file."""
    return column.header or str(Phrase("Column {number}", number=str(column.index + 1)))


def value(reading: float, channel: str) -> str:
    """A reading with its unit; a dash where it is missing."""
    if math.isnan(reading):
        return "–"
    shown = _SHOWN.get(CHANNELS[channel].unit)
    return shown(reading) if shown else f"{reading:g}"


def span(channel: str, tried: Tried) -> str:
    """From which to which value a channel was read."""
    if channel not in tried.spans:
        return ""
    low, high, missing = tried.spans[channel]
    if math.isnan(low):
        return tr("No reading at all")
    text = value(low, channel)
    if value(high, channel) != text:
        text = str(Phrase("{low} to {high}", low=text, high=value(high, channel)))
    if missing >= 0.005:
        return str(Phrase("{values}, {missing:%} missing", values=text, missing=100 * missing))
    return text


def use(column: ColumnGuess, chosen: Use, is_open: bool) -> str:
    """What a column is used for."""
    if chosen.channel:
        return label(chosen.channel)
    return str(Phrase("{channel}?", channel=label(column.meant))) if is_open else tr("Not used")


def unit(column: ColumnGuess, chosen: Use) -> str:
    """In which unit it is read."""
    if not chosen.channel:
        return column.unit
    return chosen.unit or column.unit or CHANNELS[chosen.channel].unit


def sentence(error: HeadraceError) -> str:
    """What is wrong, without what only helps outside this program."""
    text = error.what[:1].upper() + error.what[1:]
    if error.found:
        text = str(Phrase("{fault} (found: {found})", fault=text, found=error.found))
    return text + "."


def verdict(tried: Tried) -> tuple[bool, str]:
    """(whether the columns can be believed, what to say) of a table that can be read."""
    if math.isnan(tried.in_balance):
        parts = [tr("Can be read. There are too few powers to check whether they add up.")]
    elif tried.in_balance >= IN_BALANCE:
        parts = [
            Phrase(
                "Can be read, and the powers add up in {share:%} of the rows: columns, units and signs fit.",
                share=100 * tried.in_balance,
            )
        ]
    else:
        parts = [
            Phrase(
                "Can be read, but the powers add up in {share:%} of the rows only. Is a column, a unit or a "
                "sign wrong?",
                share=100 * tried.in_balance,
            )
        ]
    if tried.sampled and tried.recording is not None:
        parts.append(
            Phrase(
                "This was tried on the first {rows} rows.", rows=f"{len(tried.recording):,}".replace(",", " ")
            )
        )
    good = math.isnan(tried.in_balance) or tried.in_balance >= IN_BALANCE
    return good, " ".join(map(str, parts))


def both_ways(cell: str) -> tuple[str, str]:
    """A date such as 03/04/2026 read day first and month first, as ISO dates; ("", "") where it is none."""
    found = _DATE.search(cell)
    if found is None:
        return "", ""
    first, second, year = (int(part) for part in found.groups())
    year += 2000 if year < 100 else 0
    return f"{year:04d}-{second:02d}-{first:02d}", f"{year:04d}-{first:02d}-{second:02d}"
