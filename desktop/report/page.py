"""A review as a page: what stands on it, in which order. Nothing here knows how it is set."""

from __future__ import annotations

from datetime import UTC, datetime
from importlib.metadata import version

from desktop.report.account import Account
from desktop.report.blocks import Block, Page, Section, texts
from desktop.report.pictures import Pictures
from desktop.report.sections.advice import advice
from desktop.report.sections.battery import battery
from desktop.report.sections.cautions import cautions
from desktop.report.sections.checks import checks
from desktop.report.sections.course import course
from desktop.report.sections.energy import energy
from desktop.report.sections.findings import findings
from desktop.report.sections.forecast import forecast
from desktop.report.sections.fuel import fuel
from desktop.report.sections.glossary import glossary
from desktop.report.sections.opening import opening, verdict_of
from desktop.report.sections.recorded import recorded
from desktop.report.sections.settings import settings
from desktop.report.sections.suspects import suspects
from desktop.report.times import date, length, span
from desktop.report.untrusted import file_name, plain
from desktop.review import Review
from desktop.words import Phrase, tr, word_in

_LANGUAGE = word_in("the code of this language (BCP 47)", "en")


def page_of(review: Review, theme: str = "light", made: datetime | None = None) -> Page:
    """The report of a review, in the language that is spoken now.

    theme  of the pictures: a key of `desktop.picture.palette.THEMES`
    made   when the report is made; None for now
    """
    account = Account.of(review)
    pictures = Pictures(account, theme)
    first = opening(account, pictures)
    told = (
        course(account, pictures, first),
        findings(account, pictures, first),
        checks(account),
        suspects(account, pictures),
        advice(account),
        energy(account),
        fuel(account),
        forecast(account),
        battery(account),
        recorded(account),
        settings(account),
        cautions(account),
    )
    sections = tuple(section for section in told if section is not None)
    explained = glossary(_texts(first.blocks, sections))
    return Page(
        language=tr(_LANGUAGE),
        title=_title(review),
        subtitle=_subtitle(review),
        severity=account.severity,
        verdict=verdict_of(account),
        opening=first.blocks,
        sections=sections if explained is None else (*sections, explained),
        footer=_footer(made or datetime.now(UTC).astimezone(review.site.zone)),
    )


def _footer(made: datetime) -> str:
    return str(
        Phrase(
            "Report of {day} by Headrace {version}, from recorded readings. It is no protective device.",
            day=date(made),
            version=version("headrace"),
        )
    )


def _texts(blocks: tuple[Block, ...], sections: tuple[Section, ...]) -> list[str]:
    every = (*blocks, *(block for section in sections for block in section.blocks))
    return [text for block in every for text in texts(block)]


def _title(review: Review) -> str:
    name = plain(review.site.site.name) or file_name(review.recording.provenance.name)
    return name or tr("A recording")


def _subtitle(review: Review) -> str:
    time = review.recording.time
    if not len(time):
        return tr("Nothing is recorded.")
    first, last = int(time[0]), int(time[-1])
    return str(
        Phrase(
            "What was recorded from {span} ({place}), {length} in all",
            span=span(first, last, review.site.zone),
            place=review.site.site.timezone,
            length=length(first, last),
        )
    )
