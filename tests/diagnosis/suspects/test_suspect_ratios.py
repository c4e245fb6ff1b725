"""The likelihood ratios against published gross-error examples, their theoretical power, and other solvers.

Measured flows of the heat exchanger with bypass: Narasimhan & Jordache 2000, example 1-1; with a gross error in
sensor 2: examples 7-1 to 7-5. Ratios and bias estimates were reckoned from their formulas (equations 7-29 to 7-32).
"""

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import minimize

from desktop.diagnosis.suspects.robust import TAILS, Slack, fit, generalised_ratio, losses

BALANCES = np.array(
    [[1, -1, -1, 0, 0, 0], [0, 1, 0, -1, 0, 0], [0, 0, 1, 0, -1, 0], [0, 0, 0, 1, 1, -1]], dtype=float
)
FLOWS = np.array([101.91, 64.45, 34.65, 64.20, 36.44, 98.88])
LYING = np.where(np.arange(6) == 1, 68.45, FLOWS)


def ratio(flows, direction):
    """Likelihood ratio and estimate of a gross error along a direction of the balances' residuals."""
    whiten = np.linalg.inv(np.linalg.cholesky(BALANCES @ BALANCES.T))
    y, column = whiten @ BALANCES @ flows, whiten @ direction
    without = generalised_ratio(y, np.zeros((4, 1)), np.ones(4), np.ones(1))
    with_it = generalised_ratio(y, column[:, None], np.ones(4), np.array([np.inf]))
    return 2 * (without.cost - with_it.cost), with_it.beta[0], 2 * without.cost


def test_a_gross_error_in_a_sensor():
    found = [ratio(LYING, BALANCES[:, sensor]) for sensor in range(6)]
    np.testing.assert_allclose(
        [each[0] for each in found], [1.570817, 10.270417, 0.244017, 4.001667, 2.884267, 6.040067], rtol=2e-6
    )
    np.testing.assert_allclose(
        [each[1] for each in found], [1.535, 3.925, -0.605, -2.45, 2.08, -3.01], rtol=1e-6
    )
    # Narasimhan & Jordache 2000, example 7-1, quoted from memory: the global test is 16.674.
    assert found[0][2] == pytest.approx(16.6741667, rel=1e-7)


def test_a_leak_at_a_node_is_another_hypothesis():
    found = [ratio(LYING, np.eye(4)[node])[0] for node in range(4)]
    np.testing.assert_allclose(found, [1.570817, 13.249600, 0.384400, 6.040067], rtol=2e-6)


def test_without_a_gross_error_no_ratio_stands_out():
    found = [ratio(FLOWS, BALANCES[:, sensor])[0] for sensor in range(6)]
    np.testing.assert_allclose(
        np.sqrt(found), [2.069819, 0.061237, 1.310477, 0.367423, 0.881816, 1.641158], rtol=1e-4
    )
    assert max(found) < 2.6310383**2


def test_false_alarms_and_power_are_what_theory_says():
    chance = np.random.default_rng(11)
    trials, level = 3000, 0.05
    limit = stats.chi2.ppf(1 - level, 1)
    truth = np.array([100.0, 64, 36, 64, 36, 100])
    whiten = np.linalg.inv(np.linalg.cholesky(BALANCES @ BALANCES.T))
    column = whiten @ BALANCES[:, 1]
    for bias in (0.0, 2.0, 4.0):
        noise = chance.standard_normal((trials, 6))
        residuals = (truth + noise + bias * np.eye(6)[1]) @ (whiten @ BALANCES).T
        alarms = 0
        for y in residuals:
            none = generalised_ratio(y, np.zeros((4, 1)), np.ones(4), np.ones(1))
            some = generalised_ratio(y, column[:, None], np.ones(4), np.array([np.inf]))
            alarms += 2 * (none.cost - some.cost) > limit
        expected = stats.ncx2.sf(limit, 1, bias**2 * column @ column) if bias else level
        low, high = stats.binom.interval(0.999, trials, expected)
        assert low <= alarms <= high, (bias, alarms, expected * trials)


def case(seed, rows=60, columns=4):
    chance = np.random.default_rng(seed)
    design = chance.normal(size=(rows, columns))
    beta = chance.normal(size=columns)
    y = design @ beta + chance.standard_t(4, rows) * 0.3
    y[:5] += 30
    return y, design, np.full(rows, 0.3), chance.uniform(0.3, 1.0, rows), np.array([0.5, 2.0, 1e6, 1.0])


@pytest.mark.parametrize("seed", range(4))
def test_the_robust_fit_is_the_minimum_that_a_general_solver_finds(seed):
    y, design, sigma, weight, prior = case(seed)

    def cost(beta):
        z = (y - design @ beta) / sigma
        return weight @ ((TAILS + 1) / 2 * np.log1p(z**2 / TAILS)) + 0.5 * ((beta / prior) ** 2).sum()

    found = fit(y, design, sigma, weight, prior)
    best = min((minimize(cost, start) for start in (found.beta, np.zeros(4))), key=lambda each: each.fun)
    assert found.cost == pytest.approx(cost(found.beta))
    assert found.cost <= best.fun + 1e-3 * (1 + abs(best.fun))


def test_the_plain_fit_is_the_posterior_of_a_gaussian():
    y, design, sigma, _, prior = case(9)
    found = generalised_ratio(y, design, sigma, prior)
    stacked = np.vstack((design / sigma[:, None], np.diag(1 / prior)))
    expected = np.linalg.lstsq(stacked, np.concatenate((y / sigma, np.zeros(4))), rcond=None)[0]
    np.testing.assert_allclose(found.beta, expected, rtol=1e-8)
    np.testing.assert_allclose(found.sd, np.sqrt(np.diag(np.linalg.inv(stacked.T @ stacked))), rtol=1e-8)


def test_an_independent_test_for_outliers_agrees():
    """Where one row's gain is off, the coefficient's t test of ordinary least squares says so too."""
    chance = np.random.default_rng(3)
    load = chance.uniform(200, 3000, 80)
    for error, suspected in ((0.0, False), (0.25, True)):
        y = -error * load + chance.normal(0, 20, 80)
        line = stats.linregress(load, y)
        none = generalised_ratio(y, np.zeros((80, 1)), np.full(80, 20.0), np.ones(1))
        some = generalised_ratio(y, load[:, None], np.full(80, 20.0), np.array([np.inf]))
        assert (line.pvalue < 1e-6) == (2 * (none.cost - some.cost) > 24) == suspected
        assert some.beta[0] == pytest.approx(line.slope, abs=0.01)


def test_where_something_may_flow_a_row_costs_no_more_than_its_price():
    z = np.array([-8.0, -1.0, 0.0, 1.0, 8.0, 80.0])
    up = Slack(np.ones(6), np.full(6, 3.0))
    plain, loose = losses(z), losses(z, up)
    assert (loose[z > 0] <= 3 + np.log(2) + 1e-9).all()
    np.testing.assert_allclose(loose[z <= 0], plain[z <= 0] + np.log(2))
    np.testing.assert_allclose(
        losses(z, Slack(np.full(6, 2.0), np.full(6, 3.0))),
        losses(-z, Slack(np.full(6, 2.0), np.full(6, 3.0))),
    )
    np.testing.assert_array_equal(losses(z, Slack(np.zeros(6), np.zeros(6))), plain)
