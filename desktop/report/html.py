"""A report as one HTML file that needs nothing else: no network, no script, no other file."""

from __future__ import annotations

from os import PathLike
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from desktop.diagnosis.finding import Severity
from desktop.picture.palette import THEMES
from desktop.picture.svg.elements import element, severity_mark
from desktop.report.blocks import Block
from desktop.report.page import page_of
from desktop.review import Review
from desktop.words import kept_together, tr
from recordings.files import write_whole

_NAMESPACE = ' xmlns="http://www.w3.org/2000/svg"'
_MARK_PX = 12.0


def report_html(review: Review, *, theme: str = "light") -> str:
    """The report of a review, in the language that is spoken now.

    theme  of the pictures, `light` or `dark`; the page itself follows the reader's screen, and paper is white
    """
    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["together"] = kept_together
    environment.filters["picture"] = lambda figure: _drawn(figure.svg)
    environment.filters["drawn"] = _drawn
    environment.filters["mark"] = _mark
    environment.filters["kind"] = _kind
    template = environment.get_template("page.html.jinja")
    return template.render(page=page_of(review, theme), theme=theme, themes=THEMES, tr=tr)


def write_html(review: Review, path: str | PathLike[str]) -> None:
    """Write the report as one file, whole or not at all. WriteError where it can't be."""
    write_whole(path, report_html(review).encode())


def _kind(block: Block) -> str:
    return type(block).__name__.lower()


def _drawn(svg: str) -> Markup:
    # HTML knows SVG by itself; the namespace's name would only look like an address.
    return Markup(svg.replace(_NAMESPACE, "", 1))


def _mark(severity: Severity) -> Markup:
    """A severity's shape in the colour of the text beside it."""
    middle = _MARK_PX / 2
    inside = severity_mark((middle, middle), _MARK_PX, severity, "currentColor")
    return Markup(element("svg", inside, viewBox="0 0 12 12", aria_hidden="true", **{"class": "mark"}))
