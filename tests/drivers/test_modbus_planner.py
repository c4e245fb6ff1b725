"""The plan of reads: it brings everything, no read is too large, and no plan has fewer."""

from functools import cache

from hypothesis import given
from hypothesis import strategies as st

from drivers.modbus.planner import Block, Span, plan

SPANS = st.lists(
    st.builds(Span, st.sampled_from(["holding", "input"]), st.integers(0, 60), st.sampled_from([1, 1, 2, 4])),
    min_size=1,
    max_size=12,
)


@given(SPANS, st.integers(4, 40))
def test_every_span_comes_whole_in_a_read_that_the_device_takes(spans, most):
    blocks = plan(spans, most)
    for block in blocks:
        assert block.words <= most
        for span in block.spans:
            assert span.table == block.table
            assert block.address <= span.address
            assert span.end <= block.address + block.words
    assert sorted(span for block in blocks for span in block.spans) == sorted(set(spans))


@given(SPANS, st.integers(4, 40))
def test_no_plan_has_fewer_reads(spans, most):
    @cache
    def fewest(rest):
        """Tries every place that the read which brings the first span may begin at."""
        if not rest:
            return 0
        first = rest[0]
        best = len(rest)
        for begin in range(first.end - most, first.address + 1):
            left = tuple(
                span
                for span in rest
                if not (span.table == first.table and begin <= span.address and span.end <= begin + most)
            )
            best = min(best, 1 + fewest(left))
        return best

    assert len(plan(spans, most)) == fewest(tuple(sorted(set(spans))))


def test_a_value_longer_than_a_read_stands_alone():
    assert [block.words for block in plan([Span("holding", 0, 4), Span("holding", 4, 1)], 2)] == [4, 1]


@given(SPANS)
def test_halves_share_the_spans_and_split_none(spans):
    (first, *_) = plan(spans, 125)
    halves = first.halves()
    if halves is None:
        return
    low, high = halves
    assert sorted((*low.spans, *high.spans)) == sorted(first.spans)
    assert low.address + low.words <= high.address


def test_a_block_is_halved_at_its_widest_gap():
    block = Block.of([Span("holding", at, 1) for at in (0, 1, 2, 40, 42)])
    low, high = block.halves()
    assert ([span.address for span in low.spans], [span.address for span in high.spans]) == (
        [0, 1, 2],
        [40, 42],
    )
