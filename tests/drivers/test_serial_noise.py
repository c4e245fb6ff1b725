"""Noise on a serial line costs lines, and never makes a value."""

import math

from hypothesis import given, settings
from hypothesis import strategies as st
from serial_help import NAMED, PLACED, line_map

from drivers.serial_lines.decoding import Decoder
from drivers.serial_lines.framing import LineCutter, xor

NOT_TEXT = b"\x00\x01\x07\x1b\x7f\xc0\xc1\xfe\xff"


def line(layout, number, *, sealed):
    """A line with values that only this number has."""
    load, soc = f"{number}.25", number % 100
    text = {
        "delimited": f"{load},{soc}",
        "pairs": f"load={load} soc={soc}",
        "json": f'{{"load":{load},"soc":{soc}}}',
    }[layout].encode()
    return (b"$%s*%02X" % (text, xor(text)) if sealed else text) + b"\r\n"


def said(layout, data, *, sealed, step=7):
    """All readings that come of a stream, and the decoder."""
    sheet = line_map(layout, PLACED if layout == "delimited" else NAMED, 'checksum = "xor"' if sealed else "")
    decoder, cutter = Decoder(sheet), LineCutter()
    found = []
    for at in range(0, len(data), step):
        found += [decoder.decode(each) for each in cutter.cut(data[at : at + step])]
    return [each for each in found if each], decoder


def true_readings(first, last):
    return [
        {"load_power": number * 1000 + 250.0, "battery_soc": float(number % 100)}
        for number in range(first, last)
    ]


LAYOUTS = st.sampled_from(["delimited", "pairs", "json"])


@settings(max_examples=250, deadline=None, derandomize=True)
@given(
    layout=LAYOUTS, bursts=st.lists(st.binary(max_size=60), min_size=1, max_size=8), step=st.integers(1, 40)
)
def test_any_bytes_between_sealed_lines_cost_no_value_and_make_none(layout, bursts, step):
    data = b""
    for number, burst in enumerate(bursts):
        data += line(layout, number, sealed=True) + burst + b"\n"
    found, _ = said(layout, data, sealed=True, step=step)
    assert found == true_readings(0, len(bursts))


@settings(max_examples=250, deadline=None, derandomize=True)
@given(
    layout=LAYOUTS,
    number=st.integers(100, 900),
    at=st.integers(0, 60),
    byte=st.integers(0, 255),
    data=st.data(),
)
def test_one_wrong_missing_or_added_byte_in_a_sealed_line_makes_no_value(layout, number, at, byte, data):
    whole = line(layout, number, sealed=True)
    at %= len(whole) - 2
    broken = data.draw(st.sampled_from([
        whole[:at] + bytes([byte]) + whole[at + 1 :],
        whole[:at] + whole[at + 1 :],
        whole[:at] + bytes([byte]) + whole[at:],
    ]))  # fmt: skip
    found, decoder = said(layout, broken + line(layout, number + 1, sealed=True), sealed=True)
    assert [each for each in found if each not in true_readings(number, number + 2)] == []
    assert decoder.good >= 1


@settings(max_examples=300, deadline=None, derandomize=True)
@given(
    layout=LAYOUTS,
    bursts=st.lists(
        st.tuples(st.binary(max_size=12), st.sampled_from(sorted(NOT_TEXT)), st.binary(max_size=12)),
        min_size=1,
        max_size=8,
    ),
    step=st.integers(1, 40),
)
def test_line_noise_between_unsealed_lines_makes_no_value(layout, bursts, step):
    data = line(layout, 0, sealed=False)
    for number, (before, never_text, after) in enumerate(bursts):
        data += before + bytes([never_text]) + after
        data += b"".join(line(layout, 3 * number + more, sealed=False) for more in (1, 2, 3))
    found, _ = said(layout, data, sealed=False, step=step)
    sent = true_readings(0, 3 * len(bursts) + 1)
    assert [each for each in found if each not in sent] == []
    # After each burst the second sound line is believed again at the latest.
    assert len(found) >= len(bursts)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(layout=LAYOUTS, data=st.binary(max_size=400), sealed=st.booleans(), step=st.integers(1, 50))
def test_bytes_alone_never_stop_it_and_values_stay_possible(layout, data, sealed, step):
    found, decoder = said(layout, data + b"\n", sealed=sealed, step=step)
    for readings in found:
        assert all(math.isnan(value) or -1e6 <= value <= 1e6 for value in readings.values())
    assert decoder.good == len(found)
