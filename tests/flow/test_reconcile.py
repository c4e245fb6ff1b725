"""A plant's own reconciliation: equal to the general one, exact balances, nothing missing taken for zero."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from plants import SLOPE, USUAL, day, true_streams
from scipy.stats import chi2 as chi2_distribution
from scipy.stats import kstest

from desktop.flow.conversion import ASSUMED, Conversion
from desktop.flow.linear import reconcile_network
from desktop.flow.network import LAW, Network
from desktop.flow.reconcile import Reconciler, reconcile
from desktop.flow.streams import BALANCE, GAPS, INDEX, SIGNED, STREAMS

WHOLE = Network(STREAMS)
HOME = Network(("generator", "load", "converter_ac", "converter_dc", "solar", "battery", "loss"))
TRUE_LAW = Conversion(40.0, SLOPE, "fitted", 12.0, 0.01)

meters = st.sets(st.sampled_from([name for name in STREAMS if name != "loss"]))
# Whole watts: their sums are exact, so that it is no matter of rounding which way the converter runs.
powers = arrays(np.float64, (len(STREAMS), 6), elements=st.integers(-9000, 9000).map(float))
doubts = arrays(np.float64, (len(STREAMS), 6), elements=st.floats(1, 400, width=32))


def through(measured: np.ndarray, seen: set[str]) -> float:
    """The converter's power by all that tell it, or NaN."""
    told = [measured[INDEX[name]] for name in ("converter_ac", "converter_dc") if name in seen]
    if {"generator", "grid", "solar_ac", "load"} <= seen:
        told.append(BALANCE[0, :4] @ measured[:4])
    if {"solar", "battery", "dc_load"} <= seen:
        told.append(measured[INDEX["battery"]] + measured[INDEX["dc_load"]] - measured[INDEX["solar"]])
    return float(np.mean(told)) if told else np.nan


@settings(deadline=None, derandomize=True)
@given(meters, powers, doubts)
def test_equals_the_general_reconciliation(seen, measured, sd):
    """Row by row: the network with the conversion law as one more meter, for any set of meters."""
    for row, name in enumerate(STREAMS):
        if name not in seen:
            measured[row] = np.nan
    found = reconcile(measured, sd, WHOLE, ASSUMED)
    for column in range(measured.shape[1]):
        flow = through(measured[:, column], seen)
        balances = WHOLE.balances(ASSUMED.slope, charging=not flow < 0)
        law = np.hypot(ASSUMED.idle_sd_w, ASSUMED.slope_sd * np.nan_to_num(flow))
        y = np.append(measured[:, column], ASSUMED.idle_w)
        y[INDEX["loss"]] = np.nan
        free = reconcile_network(balances, y[:, None], sd=np.append(sd[:, column], law)[:, None])
        bounded = [i for i, name in enumerate(STREAMS) if name not in SIGNED]
        held = reconcile_network(
            balances, y[:, None], sd=np.append(sd[:, column], law)[:, None], nonnegative=bounded
        )
        assert found.value[:, column] == pytest.approx(held.value[:LAW, 0], abs=1e-5, nan_ok=True)
        assert found.sd[:, column] ** 2 == pytest.approx(free.variance[:LAW, 0], abs=1e-4, nan_ok=True)
        assert found.chi2[column] == pytest.approx(free.chi2[0], rel=1e-6, abs=1e-9)
        assert found.dof[column] == free.known.degrees_of_freedom


@settings(deadline=None, derandomize=True)
@given(powers, doubts, arrays(np.bool_, (len(STREAMS), 6)))
def test_streams_balance_and_nothing_is_below_zero(measured, sd, missing):
    """To 1e-6 of the largest, with meters missing by chance in each row."""
    measured[missing] = np.nan
    found = reconcile(measured, sd, WHOLE, ASSUMED)
    value = found.value
    known = np.isfinite(value)
    left = np.array([BALANCE[bus] @ value for bus in range(3)])
    largest = np.nanmax(np.abs(np.vstack((value, np.ones(value.shape[1])))), axis=0)
    assert np.nanmax(np.append(np.abs(left) / largest, 0.0)) <= 1e-6
    for row, name in enumerate(STREAMS):
        if name not in SIGNED:
            assert (value[row][known[row]] >= 0).all()
    assert (np.isfinite(found.sd) == known).all()


@settings(deadline=None, derandomize=True)
@given(arrays(np.bool_, (len(STREAMS), 6)))
def test_a_missing_meter_is_never_zero(missing):
    """What isn't metered is computed or unknown; what is computed is what the true plant does."""
    truth = true_streams(
        generator=np.full(6, 4000.0), grid=np.full(6, 500.0), solar_ac=np.full(6, 300.0), load=np.full(6, 900.0),
        solar=np.full(6, 700.0), dc_load=np.full(6, 150.0),
    )  # fmt: skip
    measured = np.where(missing, np.nan, truth)
    measured[INDEX["loss"]] = np.nan
    found = reconcile(measured, np.full(truth.shape, 20.0), WHOLE, TRUE_LAW)
    known = np.isfinite(found.value)
    assert found.value[known] == pytest.approx(truth[known], abs=1e-6)
    worker = Reconciler(WHOLE, TRUE_LAW)
    for column in range(6):
        knowledge = worker.knowledge(measured[:, column])
        for row, name in enumerate(STREAMS):
            assert (knowledge[name] == "unknown") == (not known[row, column])
            assert (knowledge[name] in {"checked", "measured"}) == (
                not missing[row, column] and name != "loss"
            )


def test_absent_streams_are_exactly_zero():
    x = day(200)
    found = reconcile(masked(x, *USUAL), np.full(x.shape, 20.0), HOME, TRUE_LAW)
    for name in STREAMS:
        if not HOME.has(name):
            assert not found.value[INDEX[name]].any()
            assert not found.sd[INDEX[name]].any()


def masked(x, *seen):
    measured = np.full(x.shape, np.nan)
    for name in seen:
        measured[INDEX[name]] = x[INDEX[name]]
    return measured


@pytest.mark.parametrize(
    "converter", [(), ("converter_ac",), ("converter_dc",), ("converter_ac", "converter_dc")]
)
def test_global_test_and_deviations_follow_noise(converter):
    """χ² follows its distribution, and values scatter as their deviations say, with noise of the stated size."""
    rows = 20_000
    x = true_streams(generator=np.full(rows, 5000.0), load=np.full(rows, 1200.0), solar=np.full(rows, 900.0))
    sd = np.hypot(0.01 * x, 10.0)
    chance = np.random.default_rng(3)
    measured = masked(x + chance.normal(size=x.shape) * sd, *USUAL, *converter)
    # The plant's true law differs from the one that is believed by as much as that one is doubted.
    doubt = chance.normal(0, np.hypot(12.0, 0.01 * 3800), rows)
    for name in {"converter_dc"} & set(converter):
        measured[INDEX[name]] -= doubt
    measured[INDEX["battery"]] -= doubt
    found = reconcile(measured, sd, HOME, TRUE_LAW)
    assert (found.dof == 1 + len(converter)).all()
    assert kstest(found.chi2, chi2_distribution(1 + len(converter)).cdf).pvalue > 0.005
    shifted = x.copy()
    shifted[INDEX["loss"]] += doubt
    shifted[INDEX["converter_dc"]] -= doubt
    shifted[INDEX["battery"]] -= doubt
    for name in HOME.present:
        spread = (found.value - shifted)[INDEX[name]].std()
        assert spread == pytest.approx(found.sd[INDEX[name]].mean(), rel=0.04)


def test_unaccounted_power_is_told_where_a_meter_divides_the_plant():
    """300 W leave the AC bus unseen: "both" without a converter meter, "ac" with one."""
    x = true_streams(generator=np.full(4, 5000.0), load=np.full(4, 1500.0), solar=np.full(4, 600.0))
    x[INDEX["load"]] -= 300
    sd = np.full(x.shape, 20.0)
    plain = reconcile(masked(x, *USUAL), sd, HOME, TRUE_LAW)
    assert plain.unaccounted[GAPS.index("both")] == pytest.approx(300 * (1 - SLOPE))
    assert np.isnan(plain.unaccounted[[GAPS.index("ac"), GAPS.index("dc")]]).all()
    for meters_ in (("converter_ac",), ("converter_dc",), ("converter_ac", "converter_dc")):
        found = reconcile(masked(x, *USUAL, *meters_), sd, HOME, TRUE_LAW)
        assert found.unaccounted[GAPS.index("ac")] == pytest.approx(300)
        assert found.unaccounted[GAPS.index("dc")] == pytest.approx(0, abs=1e-9)
        assert np.isnan(found.unaccounted[GAPS.index("both")]).all()
    deviation = plain.unaccounted_sd[GAPS.index("both"), 0]
    law = np.hypot(12, 0.01 * 3800 * 0.5 * (1 + 3206 / 3800))
    expected = np.sqrt((1 - SLOPE) ** 2 * 800 + 800 + law**2)
    assert deviation == pytest.approx(expected, rel=0.02)


def test_a_plant_without_a_battery_has_one_bus():
    network = Network(("generator", "load"))
    measured = np.full((len(STREAMS), 3), np.nan)
    measured[INDEX["generator"]], measured[INDEX["load"]] = [1000, 1000, np.nan], [900, np.nan, np.nan]
    found = reconcile(measured, np.full(measured.shape, 20.0), network, ASSUMED)
    assert found.value[INDEX["generator"]] == pytest.approx([950, 1000, np.nan], nan_ok=True)
    assert found.value[INDEX["load"]] == pytest.approx([950, 1000, np.nan], nan_ok=True)
    assert found.dof.tolist() == [1, 0, 0]
    assert found.unaccounted[GAPS.index("ac")] == pytest.approx([100, np.nan, np.nan], nan_ok=True)
    assert not found.value[INDEX["battery"]].any()


def test_of_a_generators_power_the_battery_gets_what_the_charger_leaves():
    """Common practice, no source: of 3.7 kW with 0.7 kW of house load about 2.7 kW reach the battery."""
    measured = np.full((len(STREAMS), 1), np.nan)
    measured[INDEX["generator"]], measured[INDEX["load"]] = 3700, 700
    network = Network(("generator", "load", "converter_ac", "converter_dc", "battery", "loss"))
    found = reconcile(measured, np.full(measured.shape, 15.0), network, ASSUMED)
    assert found.value[INDEX["battery"], 0] == pytest.approx(2700, abs=1)
    assert found.value[INDEX["converter_dc"], 0] / found.value[INDEX["converter_ac"], 0] == pytest.approx(0.9)
