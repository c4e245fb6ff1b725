"""A review as a page: what stands on it, in which order. Nothing here knows how it is set."""

from __future__ import annotations

from desktop.diagnosis.finding import SEVERITIES, Severity
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
from desktop.report.sections.opening import opening
from desktop.report.sections.recorded import recorded
from desktop.report.sections.settings import settings
from desktop.report.sections.suspects import suspects
from desktop.report.times import length, span
from desktop.report.untrusted import file_name, plain
from desktop.review import Review
from desktop.review.as_text import verdict
from desktop.words import Phrase, tr, word_in

_LANGUAGE = word_in("the code of this language (BCP 47)", "en")


def page_of(review: Review, theme: str = "light") -> Page:
    """The report of a review, in the language that is spoken now.

    theme  of the pictures: a key of `desktop.picture.palette.THEMES`
    """
    pictures = Pictures(review, theme)
    first = opening(review, pictures)
    told = (
        course(review, pictures, first),
        findings(review, pictures, first),
        checks(review),
        suspects(review, pictures),
        advice(review),
        energy(review),
        fuel(review),
        forecast(review),
        battery(review),
        settings(review),
        recorded(review),
        cautions(review),
    )
    sections = tuple(section for section in told if section is not None)
    explained = glossary(_texts(first.blocks, sections))
    return Page(
        language=tr(_LANGUAGE),
        title=_title(review),
        subtitle=_subtitle(review),
        severity=_severity(review),
        verdict=str(verdict(review)),
        opening=first.blocks,
        sections=sections if explained is None else (*sections, explained),
        footer=tr("Made by Headrace from recorded readings. It is no protective device."),
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


def _severity(review: Review) -> Severity | None:
    there = {finding.severity for finding in review.findings}
    return next((level for level in SEVERITIES if level in there), None)
