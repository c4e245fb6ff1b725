"""The report as PDF: pages, text that can be found, and the same words as on the page."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from report_reading import closed_up, pdf_pages
from report_reviews import NAMES, demo

from desktop.opening import demos
from desktop.report.blocks import Figure, Marked, Table, texts
from desktop.report.page import page_of
from desktop.report.pages import paginate
from desktop.report.pdf import report_pdf, write_pdf
from desktop.report.pdf.tables import column_widths, table_pieces
from recordings.errors import WriteError

MM = 72 / 25.4

pytestmark = pytest.mark.usefixtures("qapp")


@pytest.mark.parametrize("name", NAMES)
def test_every_text_of_the_report_can_be_found_in_the_pdf(name):
    found = demo(name)
    page = page_of(found)
    pages = pdf_pages(report_pdf(found))
    told = "".join(pages)
    blocks = [*page.opening, *(block for section in page.sections for block in section.blocks)]
    figures = [
        each for block in blocks for each in (block, *(block.inside if isinstance(block, Marked) else ()))
    ]
    assert closed_up(page.title) in pages[0]
    assert closed_up(page.verdict) in pages[0]
    for section in page.sections:
        assert closed_up(section.title) in told
    for block in blocks:
        for text in texts(block):
            # A paragraph may run over the end of a page.
            assert all(closed_up(word) in told for word in text.split()), text
    for figure in (one for one in figures if isinstance(one, Figure)):
        words = re.findall(r"<text [^>]*>([^<]+)</text>", figure.svg)
        assert words
        assert all(closed_up(word.replace("&amp;", "&")) in told for word in words)
    for number, text in enumerate(pages, start=1):
        assert text.endswith(f"{number}/{len(pages)}")
        assert closed_up(page.footer) in text


@pytest.mark.parametrize(("paper", "wide", "high"), [("A4", 210 * MM, 297 * MM), ("Letter", 612, 792)])
def test_the_paper_is_what_was_asked_for(paper, wide, high):
    content = report_pdf(demo("load-step"), paper=paper)
    boxes = set(re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", content))
    assert len(boxes) == 1
    assert [float(side) for side in boxes.pop()] == pytest.approx([wide, high], abs=1)


def test_it_names_the_plant_and_nobody():
    content = report_pdf(demo("load-step"))
    assert "Heron Mill".encode("utf-16-be") in content.replace(b"\\", b"")
    assert b"/Author ()" in content
    for name in (os.environ.get("USER", ""), os.environ.get("HOME", ""), os.uname().nodename):
        assert not name.strip("/") or closed_up(name) not in "".join(pdf_pages(content))


def test_it_is_written_whole_or_not_at_all(tmp_path):
    write_pdf(demo("load-step"), tmp_path / "report.pdf")
    assert (tmp_path / "report.pdf").read_bytes().startswith(b"%PDF-")
    with pytest.raises(WriteError):
        write_pdf(demo("load-step"), tmp_path / "missing" / "report.pdf")
    assert [each.name for each in tmp_path.iterdir()] == ["report.pdf"]


def test_it_needs_no_screen(tmp_path):
    recording = next(each.path for each in demos() if each.path.stem == "limit-too-high")
    html, pdf, png = (tmp_path / f"report.{kind}" for kind in ("html", "pdf", "png"))
    command = [
        sys.executable,
        "-m",
        "desktop.app",
        "review",
        recording,
        "--html",
        html,
        "--pdf",
        pdf,
        "--png",
        png,
    ]
    hidden = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    environment = {name: value for name, value in os.environ.items() if name not in hidden}
    top = Path(__file__).resolve().parents[2]
    done = subprocess.run(
        command, check=False, capture_output=True, text=True, env=environment, cwd=top, timeout=120
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert "Tern Rock Cottage" in html.read_text(encoding="utf-8")
    assert png.read_bytes().startswith(b"\x89PNG")
    assert closed_up("Tern Rock Cottage") in pdf_pages(pdf.read_bytes())[0]


def test_a_table_over_pages_has_its_head_on_each():
    rows = tuple((f"row {number}", "x" * (number % 90)) for number in range(120))
    pieces = table_pieces(Table("Many rows", ("Name", "Value"), rows), 0.0, 4000.0)
    pages = paginate(pieces, 6000.0)
    head = pieces[-1].head
    assert len(pages) > 2
    assert all(page[0].piece is head for page in pages[1:])
    assert sum(len(page) for page in pages) == len(pieces) + len(pages) - 1


@pytest.mark.parametrize("columns", [2, 5, 9, 14])
def test_a_table_is_never_wider_than_its_place(columns):
    head = tuple(f"Heading {number}" for number in range(columns))
    rows = (tuple("words and wordswithoutanyblank" * (number % 3) for number in range(columns)),)
    table = Table("Wide", head, rows)
    assert sum(column_widths(table, rows, 4000.0)) <= 4000.0
