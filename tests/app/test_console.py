"""The progress bar: quiet for a second, then a bar, then gone."""

from desktop.console import Progress


def test_nothing_is_shown_within_the_first_second(capsys):
    with Progress("reading", now=iter([0.0, 0.5, 0.9]).__next__, shown=True) as progress:
        progress(0.4)
        progress(0.9)
    assert capsys.readouterr().err == ""


def test_a_bar_is_shown_after_a_second_and_wiped_at_the_end(capsys):
    with Progress("reading", now=iter([0.0, 1.5]).__next__, shown=True) as progress:
        progress(0.5)
    shown = capsys.readouterr().err
    assert "reading" in shown
    assert " 50 %" in shown
    assert shown.endswith("\r")


def test_nothing_is_shown_where_no_person_looks(capsys):
    with Progress("reading", now=iter([0.0, 5.0]).__next__, shown=False) as progress:
        progress(0.5)
    assert capsys.readouterr().err == ""
