"""Coarse displays: what rounding loses is lost alike each time that a meter reads the same."""

from types import SimpleNamespace

import numpy as np
import pytest

from desktop.diagnosis.suspects.robust import fit
from desktop.diagnosis.suspects.rounding import HALF_STEP, UNIFORM, Rounding, told_sd


def told(low, high):
    return SimpleNamespace(low=np.array(low, float), high=np.array(high, float))


def test_readings_that_are_told_over_and_over():
    display = told([[50, 50, 100, 50, 150], [7, 7, 7, 7, 7]], [[50, 50, 100, 50, 250], [7, 7, 7, 7, 7]])
    found = Rounding.of(display, np.arange(5), np.array([50.0, 1.0]), 6)
    assert found.rows.tolist() == [0]
    assert found.sd == pytest.approx([50 / 12**0.5])
    assert found.held.tolist() == [[1, 1, 0, 1, 0, 0]]
    assert found.exchanged(0, 1).rows.tolist() == [1]
    design = found.design(np.array([-1.0, 1.0]), np.array([2.0, 1.0]), np.array([1, 2]))
    assert design.tolist() == [[-2.0], [0.0]]


def test_what_crosses_many_steps_loses_less():
    display = told([[100, 100, 100]], [[100, 150, 550]])
    sd = told_sd(display, np.arange(3), np.array([50.0]))
    assert sd[0] == pytest.approx(np.array([50, 50, 50 / 3]) * UNIFORM)


def test_rounding_explains_no_more_than_half_a_step():
    count, step = 40, 10.0
    y, sigma = np.full(count, 30.0), np.full(count, 4.0)
    most = np.array([[-HALF_STEP * step], [HALF_STEP * step]])
    fitted = fit(y, np.ones((count, 1)), sigma, np.ones(count), np.array([UNIFORM * step]), limit=most)
    assert fitted.beta == pytest.approx([5.0])
    assert fitted.left == pytest.approx(np.full(count, 25.0))


def test_a_limit_that_is_not_reached_changes_nothing():
    chance = np.random.default_rng(3)
    design, y = chance.normal(0, 1, (50, 3)), chance.normal(0, 2, 50)
    given = y, design, np.ones(50), np.ones(50), np.full(3, 1.0)
    wide = fit(*given, limit=np.array([[-9.0] * 3, [9.0] * 3]))
    assert wide.beta.tolist() == fit(*given).beta.tolist()
