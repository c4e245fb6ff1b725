"""Reading over and over: what a device refuses is learnt once, and everything that it has still comes."""

import struct

import pytest
from modbus_servers import Plant, served
from raw_peers import peer, refusal, reply

from drivers.modbus.address import parse_address
from drivers.modbus.errors import NoAnswerError
from drivers.modbus.link import Link
from drivers.modbus.planner import Span
from drivers.modbus.reading import UnitReader

SPANS = [Span("holding", at, 1) for at in range(200)]


def reader_of(port, **options):
    link = Link(parse_address(f"modbus-tcp://127.0.0.1:{port}"))
    link.open()
    return UnitReader(link, 1, **{"timeout_s": 0.5, **options})


def words(got, spans):
    return [int.from_bytes(got.bytes_of(span), "big") for span in spans]


def limited(most, code):
    return lambda unit, function, address, count: code if count > most else None


@pytest.mark.parametrize("most", [1, 10, 50, 64, 100, 124])
def test_a_smaller_limit_is_learnt_from_an_exception_and_remembered(most):
    plant = Plant({1: {0: list(range(200))}})
    plant.refuse = limited(most, 3)
    with served(plant):
        reader = reader_of(plant.port)
        reader.want(SPANS)
        assert words(reader.poll(), SPANS) == list(range(200))
        assert reader.most <= most
        # The best size that devices are built for: none is left out that this one would take.
        assert reader.most > most * 0.66
        plant.asked.clear()
        assert words(reader.poll(), SPANS) == list(range(200))
        assert all(count <= most for _, _, _, count in plant.asked)
        plant.asked.clear()
        reader.want(SPANS)
        reader.poll()
        assert len(plant.asked) == -(-200 // reader.most)
        reader.link.close()


def test_a_device_that_calls_a_large_read_a_wrong_address():
    plant = Plant({1: {0: list(range(200))}})
    plant.refuse = limited(40, 2)
    with served(plant):
        reader = reader_of(plant.port)
        reader.want(SPANS)
        assert words(reader.poll(), SPANS) == list(range(200))
        plant.asked.clear()
        assert words(reader.poll(), SPANS) == list(range(200))
        assert all(count <= 40 for _, _, _, count in plant.asked)
        assert not reader.missing
        reader.link.close()


def test_a_gap_that_may_not_be_read_is_left_out_from_then_on():
    plant = Plant({1: {0: [1, 2], 50: [3, 4], 90: [5]}})
    spans = [Span("holding", at, 1) for at in (0, 1, 50, 51, 90)]
    with served(plant):
        reader = reader_of(plant.port)
        reader.want(spans)
        assert len(reader.blocks) == 1
        assert words(reader.poll(), spans) == [1, 2, 3, 4, 5]
        plant.asked.clear()
        assert words(reader.poll(), spans) == [1, 2, 3, 4, 5]
        assert [(address, count) for _, _, address, count in plant.asked] == [(0, 2), (50, 2), (90, 1)]
        reader.link.close()


@pytest.mark.parametrize("code", [2, 3])
def test_a_register_that_is_not_there_costs_the_others_nothing(code):
    plant = Plant({1: {0: list(range(30))}})
    plant.refuse = lambda unit, function, address, count: code if address <= 17 < address + count else None
    spans = SPANS[:30]
    with served(plant):
        reader = reader_of(plant.port)
        reader.want(spans)
        reader.poll()
        got = reader.poll()
        assert got.bytes_of(spans[17]) is None
        assert words(got, [*spans[:17], *spans[18:]]) == [*range(17), *range(18, 30)]
        assert reader.missing == {spans[17]}
        reader.link.close()


@pytest.mark.parametrize("code", [5, 6, 11])
def test_a_passing_refusal_is_tried_again_in_the_same_round(code):
    plant = Plant({1: {0: [42]}})
    answers = [code, None]
    plant.refuse = lambda *_: answers.pop(0)
    with served(plant):
        reader = reader_of(plant.port)
        reader.want(SPANS[:1])
        assert words(reader.poll(), SPANS[:1]) == [42]
        reader.link.close()


@pytest.mark.parametrize("code", [4, 7, 8, 10])
def test_a_refusal_that_does_not_pass_is_told_and_costs_only_its_block(code):
    plant = Plant({1: {0: [1], 300: [2]}})
    plant.refuse = lambda unit, function, address, count: code if address == 0 else None
    spans = [Span("holding", 0, 1), Span("holding", 300, 1)]
    with served(plant):
        reader = reader_of(plant.port)
        reader.want(spans)
        got = reader.poll()
        assert got.bytes_of(spans[0]) is None
        assert words(got, spans[1:]) == [2]
        assert [fault.code for fault in got.faults] == [code]
        reader.link.close()


def test_one_lost_answer_is_asked_for_again():
    lost = []

    def answer(connection, request):
        if not lost:
            lost.append(request)
        else:
            connection.sendall(reply(request, 7))
        return True

    with peer(answer) as other:
        reader = reader_of(other.port, timeout_s=0.05)
        reader.want(SPANS[:1])
        assert words(reader.poll(), SPANS[:1]) == [7]
        assert len(other.requests) == 2
        reader.link.close()


def test_a_silent_device_costs_one_block_and_its_retries_only():
    with peer(lambda *_: True) as other:
        reader = reader_of(other.port, timeout_s=0.03)
        reader.want([Span("holding", at, 1) for at in (0, 200, 400, 600)])
        got = reader.poll()
        assert [type(fault) for fault in got.faults] == [NoAnswerError]
        assert len(other.requests) == 2
        assert len(reader.blocks) == 4
        reader.link.close()


def test_a_value_of_several_registers_is_never_put_together_from_two_reads():
    """The peer counts up with each read: the halves of a value that was torn would differ."""
    count = [0]

    def answer(connection, request):
        count[0] += 1
        asked = struct.unpack_from(">H", request, 10)[0]
        if asked > 7:
            connection.sendall(refusal(request, 3))
        else:
            connection.sendall(reply(request, *([count[0]] * asked)))
        return True

    spans = [Span("holding", 4 * at, 4) for at in range(20)]
    with peer(answer) as other:
        reader = reader_of(other.port)
        reader.want(spans)
        reader.poll()
        got = reader.poll()
        for span in spans:
            assert len(set(struct.unpack(">4H", got.bytes_of(span)))) == 1
        reader.link.close()


def test_long_runs_of_registers_are_read_in_pieces():
    plant = Plant({1: {0: list(range(300))}})
    plant.refuse = limited(50, 3)
    with served(plant):
        reader = reader_of(plant.port)
        assert reader.words("holding", 0, 300) == struct.pack(">300H", *range(300))
        assert reader.most == 50
        reader.link.close()
