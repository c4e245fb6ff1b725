"""Every error is one line that says what, where, what was expected, what was found, what to do."""

import copy
import pickle

from hypothesis import given
from hypothesis import strategies as st

from recordings.errors import HeadraceError, ReadError, SheetError


def test_all_parts_stand_in_one_order():
    error = ReadError(
        "load power is no number",
        where="day.csv line 7",
        expected="a number",
        found="n/x",
        mend="mend the cell",
    )
    assert (
        str(error)
        == 'day.csv line 7: load power is no number; expected a number, found "n/x". Mend the cell.'
    )


def test_what_is_empty_is_left_out():
    assert str(HeadraceError("no rows")) == "no rows."


@given(st.text(), st.text(), st.text(max_size=500))
def test_any_text_stays_on_one_printable_line(what, where, found):
    line = str(HeadraceError("x" + what, where=where, found=found))
    assert line.isprintable()
    assert "\n" not in line


def test_an_error_survives_the_way_between_processes():
    error = SheetError("rated_w", where="a.toml", expected="a number", found="x", mend="mend it")
    assert str(pickle.loads(pickle.dumps(error))) == str(error)
    assert str(copy.copy(error)) == str(error)
