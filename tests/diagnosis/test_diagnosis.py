"""The whole diagnosis: healthy runs, any cutting of the rows, order, and words for every kind."""

import numpy as np
from diagnosis_blocks import START, Facts, block, findings, running, sheet
from hypothesis import given, settings
from hypothesis import strategies as st

from desktop.diagnosis.finding import SEVERITIES, SEVERITY_OF
from desktop.diagnosis.findings import Diagnosis
from recordings.provenance import ClockJump

ALL = frozenset(SEVERITY_OF) - {"meter_suspect"}


def messy(chance, n=2400):
    """A day on which much goes wrong, in stretches of random place and length."""
    channels = running(n, off=60, warm=150, seed=int(chance.integers(1000)))
    channels["generator_current_l1"] = channels["generator_power"] / 230 / 2
    channels["generator_current_l2"] = channels["generator_power"] / 230 / 2
    channels["grid_power"] = np.zeros(n)
    channels["fuel_level"] = np.linspace(9, 1, n)
    channels["input_limit"] = np.full(n, 24.0)
    troubles = [
        *((name, None) for name in ("generator_power", "battery_power", "generator_frequency", "battery_soc")),
        ("generator_power", 0.0), ("generator_power", 8300.0), ("generator_power", 7800.0),
        ("generator_frequency", 0.0), ("generator_frequency", 47.0), ("generator_frequency", 54.0),
        ("generator_voltage", 190.0), ("generator_voltage", 260.0), ("generator_voltage", 0.0),
        ("generator_current_l1", 30.0), ("generator_current_l2", 3.0), ("grid_power", 900.0),
        ("load_power", 700.0), ("load_power", 6400.0), ("battery_power", 0.0), ("battery_power", -900.0),
        ("battery_soc", 90.0), ("battery_soc", 15.0), ("battery_temperature", -3.0), ("battery_voltage", 59.0),
        ("battery_current", 170.0), ("converter_dc_power", 6000.0), ("input_limit", 40.0),
    ]  # fmt: skip
    for _ in range(18):
        name, value = troubles[chance.integers(len(troubles))]
        start, long = int(chance.integers(n)), int(chance.choice([1, 4, 12, 40, 90, 400, 900]))
        channels[name][start : start + long] = np.nan if value is None else value
    steps = np.where(chance.random(n) < 0.003, chance.choice([30.0, 90.0, 700.0], n), 1.0)
    off = np.zeros((2, n))
    off[0, 500:1500] = chance.choice([0.0, 300.0, np.nan])
    off[1, 900:1100] = -400.0
    return block(channels, step_s=steps, unaccounted={"ac": off[0], "dc": off[1]})


SITE = sheet(generator={"legs": 2}, input={"limit_a": 24})


def test_a_healthy_charge_is_no_finding():
    assert findings(block(running(4 * 3600))) == ()


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 2**32 - 1), st.data())
def test_any_cutting_gives_the_same_findings(seed, data):
    rows = messy(np.random.default_rng(seed))
    cuts = data.draw(st.lists(st.integers(0, len(rows)), min_size=1, max_size=30))
    whole = findings(rows, SITE)
    assert repr(findings(rows, SITE, cuts=tuple(cuts))) == repr(whole)


def test_row_by_row_gives_the_same_findings():
    rows = messy(np.random.default_rng(11), 1500)
    whole = findings(rows, SITE)
    assert len({finding.kind for finding in whole}) >= 5
    assert repr(findings(rows, SITE, cuts=tuple(range(1, len(rows))))) == repr(whole)


def every_kind():
    """Findings of many messy days."""
    jump = ClockJump(START + 9_000_000_000, START)
    cold = sheet(generator={"legs": 2, "rated_w": 5000}, input={"limit_a": 24})
    found = []
    for seed in range(40):
        rows = messy(np.random.default_rng(seed))
        found += findings(rows, SITE if seed % 2 else cold, jumps=(jump,))
    slow = running(7200, seed=3)
    slow["generator_power"][240:] = 900.0 + np.arange(6960) % 7
    slow["battery_soc"][:] = 92.0
    found += findings(block(slow))
    short = running(900, off=900)
    short["generator_frequency"][100:300] = 50.0
    found += findings(block(short))
    idle = running(1200)
    for name in ("battery_power", "converter_ac_power"):
        idle[name][240:] = 0.0
    idle["generator_power"][240:] = 2400.0
    found += findings(block(idle))
    return found


def test_every_kind_is_told_in_words_with_its_numbers():
    found = every_kind()
    assert {finding.kind for finding in found} == ALL
    for finding in found:
        title, text, advice = str(finding.title), str(finding.text), str(finding.advice)
        assert title
        assert text.endswith(".")
        assert any(sign.isdigit() for sign in text)
        assert advice.endswith(".")
        assert "{" not in title + text + advice + str(finding.cause)
        assert "not known" not in text
        assert "nan" not in text + str(finding.cause)
        assert not finding.cause or str(finding.cause).endswith(".")
        assert finding.end is None or finding.end >= finding.start
        assert np.isfinite(finding.peak)


def test_findings_come_in_order_of_start_and_urgency():
    found = findings(messy(np.random.default_rng(4)), SITE)
    order = [(finding.start, SEVERITIES.index(finding.severity)) for finding in found]
    assert order == sorted(order)


def test_what_still_stands_has_no_end_and_asking_changes_nothing():
    rows = block(running(900))
    rows.channels["generator_frequency"][500:] = 47.0
    diagnosis = Diagnosis(Facts(), sheet())
    diagnosis.extend(rows)
    (first,) = diagnosis.findings()
    assert first.end is None
    assert first.stands_at(int(rows.time[-1]))
    assert diagnosis.findings() == (first,)


def test_a_sheet_of_which_nothing_is_known_gives_no_alarm():
    bare = {name: {} for name in ("generator", "input", "charger", "battery")}
    site = type(sheet()).of(bare)
    assert findings(block(running(3600)), site, Facts(volts=None, hz=None)) == ()
