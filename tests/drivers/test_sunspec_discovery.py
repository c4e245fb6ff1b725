"""Finding the chain of models on real servers, whole or broken, and who the device says it is."""

import pytest
from modbus_servers import Plant, served
from raw_peers import peer
from sunspec_images import MARKER, battery, chain, common, inverter, meter, model

from drivers.modbus.address import parse_address
from drivers.modbus.errors import NoAnswerError
from drivers.modbus.link import Link
from drivers.modbus.reading import UnitReader
from drivers.sunspec.discovery import discover, identify


def found(plant, unit=1):
    with served(plant):
        reader, link = opened(plant.port, unit)
        try:
            seen = discover(reader)
            return seen, None if seen is None else identify(reader, seen)
        finally:
            link.close()


def opened(port, unit=1):
    link = Link(parse_address(f"modbus-tcp://127.0.0.1:{port}"))
    link.open()
    return UnitReader(link, unit, timeout_s=0.2, retries=0), link


@pytest.mark.parametrize("base", [40000, 50000, 0])
def test_the_chain_is_found_at_each_usual_base(base):
    seen, identity = found(Plant({1: {base: chain(common("S-7"), inverter(), battery())}}))
    assert seen.base == base
    # 68, 52 and 64 registers: addresses computed from the lengths 66, 50 and 62.
    assert [(each.number, each.address - base, each.length) for each in seen.models] == [
        (1, 2, 66),
        (103, 70, 50),
        (802, 122, 62),
    ]
    assert not seen.broken
    assert (identity.maker, identity.model, identity.serial) == ("Invented Maker", "Model One", "S-7")


def test_the_first_base_that_has_the_marker_counts():
    plant = Plant({1: {40000: [1, 2, 3], 50000: chain(common()), 0: chain(common("other"))}})
    assert found(plant)[0].base == 50000


def test_a_device_without_a_chain():
    assert found(Plant({1: {0: [1, 2, 3]}}))[0] is None


def test_an_end_mark_without_a_length():
    image = [*MARKER, *common(), 0xFFFF]
    assert [each.number for each in found(Plant({1: {40000: image}}))[0].models] == [1]


def test_an_old_common_model_is_one_register_shorter():
    old = common()[:-1]
    old[1] = 65
    seen, identity = found(Plant({1: {40000: chain(old, inverter())}}))
    assert [each.number for each in seen.models] == [1, 103]
    assert identity.maker == "Invented Maker"


def test_models_that_nobody_knows_are_stepped_over():
    unknown = [64999, 7, *range(7)]
    seen, _ = found(Plant({1: {40000: chain(common(), unknown, meter())}}))
    assert [each.number for each in seen.models] == [1, 64999, 203]


@pytest.mark.parametrize(
    "tail", [[], [0, 0], [103, 0xFFF0]], ids=["nothing", "zeros", "a length beyond the end"]
)
def test_a_broken_chain_gives_what_it_has(tail):
    seen, _ = found(Plant({1: {40000: [*MARKER, *common(), *tail]}}))
    assert [each.number for each in seen.models] == [1]
    assert seen.broken


def test_a_chain_that_never_ends_is_left():
    # Models of no length, as far as the addresses reach.
    image = [*MARKER, *([5, 0] * 12000)]
    seen, _ = found(Plant({1: {40000: image}}))
    assert len(seen.models) == 200
    assert seen.broken


def test_a_silent_unit_is_told_apart_from_one_without_a_chain():
    with peer(lambda *_: True) as other:
        reader, link = opened(other.port)
        with pytest.raises(NoAnswerError):
            discover(reader)
        link.close()


def test_all_models_of_a_long_chain_come_with_a_small_read_limit():
    plant = Plant(
        {1: {40000: chain(common(), model(701, {"W": -300, "W_SF": 0}), meter(213, W=5, W_SF=None))}}
    )
    plant.refuse = lambda unit, function, address, count: 3 if count > 10 else None
    assert [each.number for each in found(plant)[0].models] == [1, 701, 213]
