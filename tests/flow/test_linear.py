"""Published examples of data reconciliation, and other solvers on networks made by chance."""

from __future__ import annotations

import numpy as np
import osqp
import pytest
from scipy import sparse
from scipy.linalg import null_space
from scipy.optimize import lsq_linear
from scipy.stats import chi2 as chi2_distribution
from scipy.stats import kstest

from desktop.flow import bounds
from desktop.flow.linear import reconcile_network

# Narasimhan & Jordache 2000, example 1-1: a heat exchanger with bypass. Splitter, exchanger, valve, mixer.
EXCHANGER = np.array(
    [[1, -1, -1, 0, 0, 0], [0, 1, 0, -1, 0, 0], [0, 0, 1, 0, -1, 0], [0, 0, 0, 1, 1, -1]], float
)
EXCHANGER_Y = np.array([101.91, 64.45, 34.65, 64.20, 36.44, 98.88])


def solved(balances, y, sd=1.0, **options):
    y = np.asarray(y, float)[:, None]
    return reconcile_network(
        balances, y, sd=np.broadcast_to(np.asarray(sd, float).reshape(-1, 1), y.shape), **options
    )


def test_exchanger_with_all_flows_measured():
    """Narasimhan & Jordache 2000, example 1-1: the reconciled values as printed (quoted from memory)."""
    solution = solved(EXCHANGER, EXCHANGER_Y)
    assert solution.value[:, 0] == pytest.approx([100.22, 64.50, 35.72, 64.50, 35.72, 100.22], abs=0.005)
    assert solution.chi2[0] == pytest.approx(6.4075, abs=1e-9)
    assert solution.chi2[0] < chi2_distribution.ppf(0.95, 4)
    assert solution.known.degrees_of_freedom == 4
    assert solution.variance[:, 0] == pytest.approx(np.full(6, 1 / 3))
    assert solution.residual[:, 0] == pytest.approx([2.81, 0.25, -1.79, 1.76])
    assert solution.measurement_test[:, 0] == pytest.approx(
        [2.069819, 0.061237, 1.310477, 0.367423, 0.881816, 1.641158], abs=1e-6
    )


def test_exchanger_with_a_gross_error():
    """Narasimhan & Jordache 2000, examples 7-1 to 7-5: sensor 2 reads 68.45. Their 16.674 is quoted from memory."""
    y = EXCHANGER_Y.copy()
    y[1] = 68.45
    solution = solved(EXCHANGER, y)
    assert solution.chi2[0] == pytest.approx(16.674, abs=5e-4)
    assert solution.chi2[0] > chi2_distribution.ppf(0.95, 4)
    assert solution.value[:3, 0] == pytest.approx([100.89, 65.83, 35.05], abs=0.005)
    assert solution.nodal_test[:, 0] == pytest.approx([0.687047, 3.005204, 1.265721, 1.016136], abs=1e-6)
    assert np.argmax(solution.nodal_test[:, 0]) == 1
    assert solution.measurement_test[:, 0] == pytest.approx(
        [1.253322, 3.204749, 0.493980, 2.000417, 1.698313, 2.457655], abs=1e-6
    )
    ratios, biases = zip(*(solution.likelihood_ratio(EXCHANGER[:, j]) for j in range(6)), strict=True)
    assert np.concatenate(ratios) == pytest.approx(
        [1.570817, 10.270417, 0.244017, 4.001667, 2.884267, 6.040067], abs=1e-6
    )
    assert np.concatenate(biases) == pytest.approx([1.535, 3.925, -0.605, -2.45, 2.08, -3.01], abs=1e-9)
    leaks = [solution.likelihood_ratio(unit)[0][0] for unit in np.eye(4)]
    assert leaks == pytest.approx([1.570817, 13.249600, 0.384400, 6.040067], abs=1e-6)


def test_what_a_bias_explains_is_what_leaving_the_meter_out_gains():
    """Crowe 1992 (Can. J. Chem. Eng. 70:1030), on the example above."""
    y = EXCHANGER_Y.copy()
    y[1] = 68.45
    whole = solved(EXCHANGER, y)
    y[1] = np.nan
    without = solved(EXCHANGER, y)
    assert without.value[:, 0] == pytest.approx([100.2325, 64.525, 35.7075, 64.525, 35.7075, 100.2325])
    assert without.chi2[0] == pytest.approx(6.40375)
    gained = whole.chi2 - without.chi2
    assert gained == pytest.approx(whole.likelihood_ratio(EXCHANGER[:, 1])[0])


def test_exchanger_with_some_flows_measured():
    """Narasimhan & Jordache 2000, table 1-3: measured but not confirmed, computed, and confirmed streams."""
    few = solved(EXCHANGER, [101.91, 64.45, np.nan, np.nan, np.nan, 98.88])
    assert few.value[:, 0] == pytest.approx([100.395, 64.45, 35.945, 64.45, 35.945, 100.395])
    assert [few.known.knowledge(i) for i in range(6)] == [
        "checked", "measured", "computed", "computed", "computed", "checked",
    ]  # fmt: skip
    more = solved(EXCHANGER, [101.91, 64.45, np.nan, np.nan, 36.44, 98.88])
    assert more.value[[0, 1, 4, 5], 0] == pytest.approx([100.494, 64.252, 36.242, 100.494])
    assert more.chi2[0] == pytest.approx(4.68846)
    assert more.known.degrees_of_freedom == 2


VDI = np.array(
    [
        [1, 1, -1, -1, 0.4, 0, 0, 0, 0, 0],
        [0, 0, 1, 1, -1, -1, -1, -1, -1, 0],
        [0, 0, 0, 0, 0, 0, 1, 1, 1, -1],
    ],
    float,
)
VDI_Y = np.array([46.241, 45.668, 44.575, 44.319, 0.525, 69.978, 10.364, 3.744, 4.391, 18.498])
VDI_HALF_WIDTH = np.array([2.5, 2.5, 0.535, 0.532, 0.105, 0.854, 0.168, 0.058, 0.058, 0.205])


def vdi_covariance(feed, steam):
    sd = VDI_HALF_WIDTH / 1.96
    correlation = np.eye(10)
    correlation[0, 1] = correlation[1, 0] = feed
    correlation[2, 3] = correlation[3, 2] = steam
    return correlation * np.outer(sd, sd)


def test_steam_turbine_with_correlated_meters():
    """VDI 2048 part 1 (October 2000), annex A, as printed in the OpenModelica user's guide."""
    solution = reconcile_network(VDI, VDI_Y[:, None], covariance=vdi_covariance(0.2, 0.39951))
    printed = [44.696, 44.123, 44.643, 44.386, 0.524, 70.005, 10.364, 3.744, 4.391, 18.499]
    widths = [1.611, 1.611, 0.425, 0.424, 0.105, 0.615, 0.133, 0.057, 0.057, 0.137]
    assert solution.value[:, 0] == pytest.approx(printed, abs=6e-4)
    assert 1.96 * np.sqrt(solution.variance[:, 0]) == pytest.approx(widths, abs=6e-4)
    assert solution.chi2[0] == pytest.approx(2.537045, abs=1e-6)
    assert solution.known.degrees_of_freedom == 3
    assert solution.measurement_test[[0, 2, 5, 9], 0] == pytest.approx(
        [1.58381, 0.40853, 0.08913, 0.0161013], abs=1e-5
    )


def test_covariances_are_honoured():
    """The same without correlations differs, and equals the way for independent meters."""
    apart = reconcile_network(VDI, VDI_Y[:, None], covariance=vdi_covariance(0.0, 0.0))
    plain = solved(VDI, VDI_Y, VDI_HALF_WIDTH / 1.96)
    assert apart.value == pytest.approx(plain.value)
    assert apart.variance == pytest.approx(plain.variance)
    assert apart.chi2[0] == pytest.approx(3.060222, abs=1e-6)
    assert plain.chi2[0] == pytest.approx(3.060222, abs=1e-6)
    assert plain.value[0, 0] == pytest.approx(44.691790, abs=1e-6)


def test_mixer_and_splitter_without_the_meter_between():
    """ezander/dvrlib, recon_tests.cc: m1 + m2 = m5 = m3 + m4."""
    balances = np.array([[1, 1, 0, 0, -1], [0, 0, -1, -1, 1]], float)
    solution = solved(balances, [98, 99, 100, 100, np.nan], 0.5)
    assert solution.value[:, 0] == pytest.approx([98.75, 99.75, 99.25, 99.25, 198.5])
    assert solution.chi2[0] == pytest.approx(9.0)


def test_two_meters_in_series():
    """ezander/dvrlib, recon_tests.cc."""
    solution = solved(np.array([[1.0, -1.0]]), [0, 3], [1, 2])
    assert solution.value[:, 0] == pytest.approx([0.6, 0.6])


def test_one_constraint_cannot_tell_its_meters_apart():
    """ezander/dvrlib, README: half-widths 2, 1.5 and 0.5."""
    solution = solved(np.array([[1.0, -1.0, -1.0]]), [100, 98.5, 0.8], np.array([2, 1.5, 0.5]) / 1.96)
    assert solution.value[:, 0] == pytest.approx([99.569231, 98.742308, 0.826923], abs=1e-6)
    assert solution.chi2[0] == pytest.approx(0.289598, abs=1e-6)
    assert solution.measurement_test[:, 0] == pytest.approx(np.full(3, 0.538143), abs=1e-6)


def test_eleven_streams_of_which_two_are_unobservable():
    """Rao & Narasimhan 1996 (Ind. Eng. Chem. Res. 35:1362); input as in EDSONCV/dr-ged-benchmarks, P8."""
    balances = np.zeros((4, 11))
    for row, (inflows, outflows) in enumerate(
        [((1,), (2, 3)), ((2, 3), (4, 5, 6, 7)), ((5,), (10, 11)), ((4,), (8, 9))]
    ):
        balances[row, [i - 1 for i in inflows]] = 1
        balances[row, [i - 1 for i in outflows]] = -1
    y = np.array([3707, np.nan, np.nan, 2910, 737, 26, 7.6, 105, np.nan, 57, 668])
    solution = solved(balances, y, np.where(np.isnan(y), 1.0, 0.03 * y))
    expected = [3686.826961, np.nan, np.nan, 2922.431173, 730.794711, 26.000992, 7.600085, 105, 2817.431173,
                57.041887, 673.752824]  # fmt: skip
    assert solution.value[:, 0] == pytest.approx(expected, abs=1e-5, nan_ok=True)
    assert solution.chi2[0] == pytest.approx(0.214958, abs=1e-6)
    assert solution.known.degrees_of_freedom == 2
    assert solution.known.unknown == (1, 2)
    assert solution.known.knowledge(7) == "measured"
    assert solution.known.knowledge(8) == "computed"


def network_of(size, *nodes):
    balances = np.zeros((len(nodes), size))
    for row, streams in enumerate(nodes):
        for stream in streams:
            balances[row, abs(stream) - 1] = np.sign(stream)
    return balances


def test_twelve_streams():
    """Mitsas 2010 (Measurement 43:702); input as in EDSONCV/dr-ged-benchmarks, P12."""
    y = [100.49, 29.46, 40.41, 30.05, 15.17, 4.98, 9.92, 70.68, 10.03, 19.82, 81.06, 101.57]
    sd = [1, 0.3, 0.4, 0.3, 0.3, 0.1, 0.2, 0.7, 0.3, 0.4, 0.8, 1]
    balances = network_of(
        12, (1, -2, -3, -4), (2, -5, -6, -7), (3, 5, 6, 7, -8), (4, -9, -10), (8, 9, -11), (10, 11, -12)
    )
    solution = solved(balances, y, sd)
    assert solution.chi2[0] == pytest.approx(3.891347, abs=1e-6)
    assert solution.value[:4, 0] == pytest.approx([100.582049, 29.801228, 40.709460, 30.071360], abs=1e-6)
    assert solution.measurement_test[4:7, 0] == pytest.approx(np.full(3, 0.883584), abs=1e-6)


def test_eight_streams_with_a_suspect():
    """Yang 1995 (Comput. Chem. Eng. 19S:S217); input as in EDSONCV/dr-ged-benchmarks, P5."""
    y = [110.1, 41.1, 79, 30.6, 108.3, 19.8, 55, 39]
    variance = np.array([3.234, 1.803, 1.665, 0.999, 3.129, 0.418, 3.228, 1.623])
    balances = network_of(8, (1, -2, -7), (2, -3, 8), (3, 4, -5), (7, -6, -8))
    solution = solved(balances, y, np.sqrt(variance))
    assert solution.chi2[0] == pytest.approx(35.232721, abs=1e-5)
    assert np.argmax(solution.measurement_test[:, 0]) == 0
    assert solution.measurement_test[0, 0] == pytest.approx(5.672573, abs=1e-6)


def test_home_with_meters_at_the_converter():
    """Six meters of a home, worked out by hand with the formulas of Narasimhan & Jordache 2000, chapter 3."""
    balances = np.array([[1, -1, -1, 0, 0, 0], [0, 0, 0, 1, 1, -1]], float)
    sd = [60, 40, 50, 40, 20, 60]
    solution = solved(balances, [5200, 2150, 2950, 2800, 900, 3600], sd)
    assert solution.value[:, 0] == pytest.approx(
        [5153.246753, 2170.779221, 2982.467532, 2771.428571, 892.857143, 3664.285714], abs=1e-5
    )
    assert solution.chi2[0] == pytest.approx(3.084416, abs=1e-6)
    lost_leg = solved(balances, [5200, 1150, 2950, 2800, 900, 3600], sd)
    assert lost_leg.chi2[0] == pytest.approx(158.928571, abs=1e-5)
    assert lost_leg.measurement_test[:3, 0] == pytest.approx(np.full(3, 12.535663), abs=1e-5)


def chance_network(chance):
    """A network of nodes and streams as a directed graph, with readings of which some are missing."""
    nodes, size = chance.integers(1, 6), chance.integers(3, 11)
    balances = np.zeros((nodes, size))
    for stream in range(size):
        ends = chance.choice(nodes + 1, 2, replace=False)
        for node, sign in zip(ends, (1.0, -1.0), strict=True):
            if node < nodes:
                balances[node, stream] = sign
    y = chance.normal(3, 4, size)
    sd = chance.uniform(0.2, 3, size)
    y[chance.random(size) < 0.25] = np.nan
    return balances, y, sd


@pytest.mark.parametrize("seed", range(60))
def test_agrees_with_lsq_linear(seed):
    """scipy.optimize.lsq_linear on the free parameters of the network, without and with bounds."""
    balances, y, sd = chance_network(np.random.default_rng(seed))
    solution = solved(balances, y, sd)
    basis = null_space(balances)
    basis[np.abs(basis) < 1e-12] = 0.0
    metered = np.isfinite(y)
    if not metered.any() or not basis.size:
        assert np.nan_to_num(solution.value) == pytest.approx(np.zeros((len(y), 1)), abs=1e-12)
        return
    found = lsq_linear(basis[metered] / sd[metered, None], y[metered] / sd[metered])
    shown = np.isfinite(solution.value[:, 0])
    assert solution.value[shown, 0] == pytest.approx((basis @ found.x)[shown], abs=1e-8)
    assert solution.chi2[0] == pytest.approx(2 * found.cost, abs=1e-8)


def bounded_reference(balances, y, sd, bounded):
    """The bounded problem by OSQP, polished."""
    metered = np.isfinite(y)
    weight = np.where(metered, 1 / sd**2, 0.0)
    size = len(y)
    selection = np.eye(size)[bounded]
    constraints = sparse.csc_matrix(np.vstack((balances, selection)))
    low = np.zeros(len(balances) + len(bounded))
    high = np.concatenate((np.zeros(len(balances)), np.full(len(bounded), np.inf)))
    problem = osqp.OSQP()
    problem.setup(
        P=sparse.csc_matrix(np.diag(2 * weight)),
        q=-2 * weight * np.where(metered, y, 0.0),
        A=constraints,
        l=low,
        u=high,
        eps_abs=1e-9,
        eps_rel=1e-9,
        max_iter=200_000,
        polishing=True,
        verbose=False,
    )
    return problem.solve(raise_error=True)


@pytest.mark.parametrize("seed", range(60))
def test_bounds_agree_with_two_other_solvers(seed):
    """OSQP, and scipy.optimize.lsq_linear with bounds, on networks with missing meters and bounds."""
    balances, y, sd = chance_network(np.random.default_rng(1000 + seed))
    free = solved(balances, y, sd)
    metered = np.isfinite(y)
    if not metered.any():
        assert np.isnan(free.value).any() or not free.value.any()
        return
    bounded = [i for i in range(len(y)) if free.known.knowledge(i) != "unknown"]
    solution = solved(balances, y, sd, nonnegative=bounded)
    x = solution.value[:, 0]
    shown = np.isfinite(x)
    assert (x[bounded] >= 0).all()
    cost = float((((x - y) / sd)[metered] ** 2).sum())
    other = bounded_reference(balances, y, sd, bounded)
    offset = float(((y / sd)[metered] ** 2).sum())
    assert cost == pytest.approx(other.info.obj_val + offset, abs=1e-5)
    assert x[shown] == pytest.approx(other.x[shown], abs=1e-4)
    # The balances enter as very good meters.
    rows = np.vstack((np.eye(len(y))[metered] / sd[metered, None], 1e5 * balances))
    right = np.concatenate((y[metered] / sd[metered], np.zeros(len(balances))))
    low = np.where(np.isin(np.arange(len(y)), bounded), 0.0, -np.inf)
    third = lsq_linear(rows, right, (low, np.inf), method="trf", tol=1e-14, max_iter=1000)
    assert 2 * third.cost == pytest.approx(cost, abs=1e-4)
    assert x[shown] == pytest.approx(third.x[shown], abs=1e-3)


@pytest.mark.parametrize("seed", range(12))
def test_trying_every_set_of_held_streams_agrees_with_pivoting(seed, monkeypatch):
    balances, y, sd = chance_network(np.random.default_rng(2000 + seed))
    y = np.nan_to_num(y)
    pivoted = solved(balances, y, sd, nonnegative=range(len(y)))
    monkeypatch.setattr(bounds, "_PIVOTS", 0)
    tried = solved(balances, y, sd, nonnegative=range(len(y)))
    assert tried.value == pytest.approx(pivoted.value, abs=1e-9)


def test_global_test_follows_its_distribution():
    """χ² of readings with noise of the stated size follows χ² with the stated degrees of freedom."""
    chance = np.random.default_rng(5)
    truth = np.array([100.0, 64, 36, 64, 36, 100])[:, None]
    sd = np.array([2.0, 1, 3, 0.5, 1, 2])[:, None]
    noisy = truth + chance.normal(size=(6, 20_000)) * sd
    solution = reconcile_network(EXCHANGER, noisy, sd=np.broadcast_to(sd, noisy.shape))
    assert kstest(solution.chi2, chi2_distribution(4).cdf).pvalue > 0.01
    spread = (solution.value - truth).std(axis=1)
    assert spread == pytest.approx(np.sqrt(solution.variance[:, 0]), rel=0.03)


def test_refuses_streams_that_are_measured_now_and_then():
    with pytest.raises(ValueError, match="in all rows or in none"):
        reconcile_network(np.array([[1.0, -1.0]]), np.array([[1.0, np.nan], [1.0, 1.0]]), sd=np.ones((2, 2)))
