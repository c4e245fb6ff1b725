"""Where pages end: nothing is lost, cut or parted from what it belongs to."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from desktop.report.pages import Piece, paginate

HEIGHT = 100.0
heights = st.floats(1.0, 60.0)


@st.composite
def stacks(draw):
    head = Piece("head", 10.0)
    count = draw(st.integers(0, 60))
    return [
        Piece(
            number,
            draw(heights),
            draw(st.sampled_from((0.0, 5.0, 20.0))),
            draw(st.booleans()),
            head if draw(st.integers(0, 3)) == 0 else None,
        )
        for number in range(count)
    ]


def inks(page):
    return [each.piece.ink for each in page]


@given(stacks())
def test_every_piece_stands_once_in_order_inside_a_page(pieces):
    pages = paginate(pieces, HEIGHT)
    assert [ink for page in pages for ink in inks(page) if ink != "head"] == [each.ink for each in pieces]
    for page in pages:
        ends = 0.0
        for each in page:
            assert each.top >= ends - 1e-9
            ends = each.top + each.piece.height
        assert ends <= HEIGHT + 1e-9
        assert page[0].top == 0.0
        assert page[0].before == 0.0


@given(stacks())
def test_a_page_that_begins_within_a_table_begins_with_its_head(pieces):
    for page in paginate(pieces, HEIGHT):
        first = page[1] if page[0].piece.ink == "head" else page[0]
        assert (page[0].piece.ink == "head") == (first.piece.head is not None)


@given(st.lists(st.tuples(heights, st.booleans()), max_size=60))
def test_what_keeps_together_is_on_one_page_where_one_has_room(stack):
    pieces = [Piece(number, height, keeps=keeps) for number, (height, keeps) in enumerate(stack)]
    page_of = {ink: at for at, page in enumerate(paginate(pieces, HEIGHT)) for ink in inks(page)}
    group = []
    for piece in pieces:
        group.append(piece)
        if not piece.keeps:
            if sum(each.height for each in group) <= HEIGHT:
                assert len({page_of[each.ink] for each in group}) == 1
            group = []


@given(stacks())
def test_no_page_ends_before_it_must(pieces):
    """A piece that begins a page, or the group that it heads, had no room on the page before."""
    pages = paginate(pieces, HEIGHT)
    for earlier, later in pairwise(pages):
        ends = earlier[-1].top + earlier[-1].piece.height
        ink = next(ink for ink in inks(later) if ink != "head")
        needed, at = 0.0, ink
        while True:
            needed += pieces[at].before + pieces[at].height
            if not pieces[at].keeps or at + 1 == len(pieces):
                break
            at += 1
        begun = ink > 0 and pieces[ink - 1].keeps
        assert begun or ends + needed > HEIGHT - 1e-9


def test_a_piece_larger_than_a_page_stands_alone():
    pages = paginate([Piece("a", 10.0), Piece("b", 500.0), Piece("c", 10.0)], HEIGHT)
    assert [inks(page) for page in pages] == [["a"], ["b"], ["c"]]


def test_no_pieces_no_pages():
    assert paginate([], HEIGHT) == []


def low(number, height, least, keeps=False):
    """A piece that can be made lower, and then says how low."""
    return Piece(number, height, keeps=keeps, least=least, lower=lambda tall: (number, round(tall, 3)))


def test_a_piece_is_made_lower_where_that_keeps_it_on_the_page():
    pages = paginate([Piece("a", 60.0), low("b", 50.0, 30.0)], HEIGHT)
    ((first, second),) = pages
    assert first.piece.ink == "a"
    assert second.piece.ink[0] == "b"
    assert 30.0 <= second.piece.height <= HEIGHT - 60.0


def test_a_piece_that_can_not_be_made_low_enough_begins_a_page_as_it_is():
    pages = paginate([Piece("a", 80.0), low("b", 50.0, 30.0)], HEIGHT)
    assert [inks(page) for page in pages] == [["a"], ["b"]]


@given(st.lists(st.tuples(heights, st.floats(0.3, 1.0), st.booleans()), max_size=40))
def test_pieces_that_give_way_stand_once_in_order_inside_a_page(stack):
    pieces = [
        low(number, height, share * height, keeps) for number, (height, share, keeps) in enumerate(stack)
    ]
    placed = [each for page in paginate(pieces, HEIGHT) for each in page]
    numbers = [each.piece.ink[0] if isinstance(each.piece.ink, tuple) else each.piece.ink for each in placed]
    assert numbers == list(range(len(pieces)))
    for each, whole in zip(placed, pieces, strict=True):
        assert whole.least - 1e-6 <= each.piece.height <= whole.height
        assert each.top + each.piece.height <= HEIGHT + 1e-9 or each.top == 0.0
