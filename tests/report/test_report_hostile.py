"""Names, headers and cells made to do harm stay what they are: text on a page."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from report_reading import closed_up, pdf_pages, read_html
from report_reviews import HOSTILE, hostile

from desktop.report.html import report_html
from desktop.report.page import page_of
from desktop.report.pdf import report_pdf
from desktop.report.untrusted import LONGEST, file_name, plain

BLOCKS = "main header h1 h2 h3 p strong ol ul li figure figcaption div nav a section dl dt dd span footer"
TABLES = "table caption thead tbody tr th td"
PICTURES = "svg defs pattern rect path circle g line text"
SAFE_TAGS = {
    *["html", "head", "meta", "title", "style", "body"],
    *BLOCKS.split(),
    *TABLES.split(),
    *PICTURES.split(),
}


def test_nothing_from_the_recording_becomes_markup(tmp_path):
    text = report_html(hostile(tmp_path))
    page = read_html(text)
    assert {one.tag for one in page.every()} <= SAFE_TAGS
    assert not [name for one in page.every() for name in one.attributes if name.startswith("on")]
    assert "<script" not in text
    assert "<img" not in text
    assert next(page.every("h1")).text == plain(HOSTILE)
    assert "49" not in next(page.every("h1")).text
    assert "{{7*7}}{0}…" in page.with_id("recorded").text


def test_folders_and_addresses_stay_at_home(tmp_path):
    text = report_html(hostile(tmp_path))
    assert "Jane" not in text
    assert str(tmp_path) not in text
    assert tmp_path.name not in text


def test_no_cell_begins_as_a_formula(tmp_path):
    page = read_html(report_html(hostile(tmp_path)))
    cells = [one.text for one in page.every("td", "th", "h1", "p", "li", "dd")]
    assert not [text for text in cells if text[:1] in ("=", "+", "-", "@")]


def test_the_header_is_shown_as_it_stands(tmp_path):
    told = read_html(report_html(hostile(tmp_path))).with_id("recorded").text
    assert '"Generator power [W] </td><script>alert(1)</script>' in told
    assert '""=HYPERLINK("http://bad")""' in told


@pytest.mark.usefixtures("qapp")
def test_pdf_takes_the_same_strings(tmp_path):
    pages = pdf_pages(report_pdf(hostile(tmp_path)))
    assert closed_up(plain(HOSTILE)) in pages[0]
    assert "Jane" not in "".join(pages)


ODD = ["{0} %s {name}", "\u202etxt.exe", "x" * 5000, "'; DROP TABLE", "&lt;b&gt;", "\u0000\u001b[31m"]


@pytest.mark.parametrize("name", ODD)
def test_odd_site_names(tmp_path, name):
    found = hostile(tmp_path, "".join(c for c in name if c.isprintable()) or "?")
    found.site.site.__dict__["name"] = name
    shown = next(read_html(report_html(found)).every("h1")).text
    assert shown == " ".join(plain(name).split())
    assert len(shown) <= LONGEST + 2
    assert shown.isprintable()


def test_an_address_is_no_file_name():
    assert file_name("modbus-tcp://192.0.2.7:502?unit=1") == ""
    assert file_name("/home/jane/logs/day.csv") == "day.csv"
    assert file_name("C:\\Users\\jane\\day.csv") == "day.csv"
    assert file_name("day.csv") == "day.csv"


@given(st.text(max_size=200))
def test_plain_text_is_one_short_line_that_can_be_printed(text):
    told = plain(text)
    assert told.isprintable()
    assert len(told) <= LONGEST + 2
    assert not re.match(r"[=+@|-]", told)


def test_the_page_itself_holds_no_markup(tmp_path):
    page = page_of(hostile(tmp_path))
    assert page.title == plain(HOSTILE)
