"""How it was recorded: rows, channels, gaps, what was mended, and how a file of unknown make was read."""

from __future__ import annotations

from collections.abc import Iterator

from desktop.report.account import Account
from desktop.report.blocks import Block, Items, Paragraph, Section, Table
from desktop.report.sections.course import more
from desktop.report.times import day_and_clock, length, reading_rate
from desktop.report.untrusted import file_name, plain
from desktop.review import Review
from desktop.sheet.channels import label
from desktop.words import Phrase, tr
from recordings.provenance import ColumnReading

_MOST_GAPS = 20
_MOST_LEFT = 12
_MOST_NOTES = 20
_LONGEST_NOTE = 160


def recorded(account: Account) -> Section:
    """What the report was made from, as it was recorded."""
    review = account.figures.recorded
    blocks = (*_rows(review), *_mended(review), *_gaps(review), *_columns(review), *_left(review))
    return Section("recorded", tr("How it was recorded"), blocks)


def _rows(review: Review) -> Iterator[Block]:
    recording = review.recording
    if not len(recording):
        yield Paragraph(tr("Nothing is recorded."))
        return
    name = file_name(recording.provenance.name)
    if name:
        yield Paragraph(name, tr("File:"))
    rows = Phrase(
        "{rows:d} rows, {rate}. Times are those of {place}.",
        rows=len(recording),
        rate=reading_rate(review.interval_s),
        place=review.site.site.timezone,
    )
    yield Paragraph(str(rows), tr("Rows:"))
    channels = "; ".join(label(channel) for channel in recording.channels)
    yield Paragraph(f"{channels}.", tr("Channels:"))


def _mended(review: Review) -> Iterator[Block]:
    mended = review.recording.provenance.repairs
    counts = (
        (mended.duplicates, Phrase("{count:d} duplicate rows were left out.", count=mended.duplicates)),
        (mended.out_of_order, Phrase("{count:d} rows were put in order.", count=mended.out_of_order)),
        (mended.bad_cells, Phrase("{count:d} cells could not be read.", count=mended.bad_cells)),
        (mended.bad_rows, Phrase("Rows that could not be read: {count:d}.", count=mended.bad_rows)),
    )
    told = [str(phrase) for count, phrase in counts if count]
    # A file of our own has one note, which says nothing new.
    if len(mended.notes) > 1 or _foreign(review):
        told += [plain(note, _LONGEST_NOTE) for note in mended.notes[:_MOST_NOTES]]
    if told:
        yield Items(tuple(("", text) for text in told))


def _gaps(review: Review) -> Iterator[Block]:
    if not review.gaps:
        return
    zone = review.site.zone
    rows = tuple(
        (day_and_clock(start, zone), day_and_clock(end, zone), length(start, end))
        for start, end in review.gaps[:_MOST_GAPS]
    )
    head = (tr("Last row before"), tr("First row after"), tr("Duration"))
    yield Table(tr("Gaps, which are not bridged"), head, rows, frozenset({2}))
    yield from more(len(review.gaps) - _MOST_GAPS)


def _columns(review: Review) -> Iterator[Block]:
    rows = tuple(_column(name, one) for name, one in _foreign(review).items())
    if rows:
        head = (tr("Channel"), tr("Column of the file"), tr("Unit"), tr("Counted"), tr("Because"))
        yield Table(tr("How the file was read"), head, rows)


def _foreign(review: Review) -> dict[str, ColumnReading]:
    """Channels whose columns were not named as in our own files."""
    told = review.recording.provenance.columns
    return {name: one for name, one in told.items() if one.column.partition(" ")[0] != name}


def _column(name: str, one: ColumnReading) -> tuple[str, ...]:
    way = tr("the other way round") if one.sign < 0 else tr("as it stands")
    how = plain(one.how, _LONGEST_NOTE)
    return label(name), f'"{plain(one.column)}"', plain(one.unit) or "–", way, how


def _left(review: Review) -> Iterator[Block]:
    ignored = review.recording.provenance.ignored
    if ignored:
        names = ", ".join(f'"{plain(name)}"' for name in ignored[:_MOST_LEFT])
        if len(ignored) > _MOST_LEFT:
            rest = len(ignored) - _MOST_LEFT
            names = str(Phrase("{names} and {more:d} more", names=names, more=rest))
        yield Paragraph(f"{names}.", tr("Columns that were not used:"))
