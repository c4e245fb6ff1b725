"""Who lies, by an independent regression: statsmodels' least squares and its influence measures.

A plant's balances as a linear model: free streams in each cell, every meter a row, a fault one more column.
The fault whose column takes most of what is left over is the regression's verdict.
"""

import numpy as np
import pytest
import statsmodels.api as sm
from statsmodels.stats.outliers_influence import OLSInfluence
from suspect_help import named, suspects

from desktop.flow.linear import reconcile_network
from desktop.opening import demos
from desktop.site import Site
from drivers.plant.export import scenario
from recordings.recording import Recording
from recordings.tables import read_table

METERS = (
    "generator_power", "load_power", "converter_ac_power", "converter_dc_power", "solar_power", "battery_power",
)  # fmt: skip
CELL = 300
GAIN, OFFSET_W = 0.01, 12.0


@pytest.fixture(scope="module")
def plant():
    """A healthy recording while the generator charges, its sheet, and its converter's law (idle W, share lost)."""
    path = next(demo.path for demo in demos() if demo.path.stem == "healthy-charge")
    inverter = scenario("healthy-charge").inverter
    recording = read_table(path)
    charging = recording.column("converter_ac_power") > 200
    columns = {name: recording.column(name)[charging].astype(float) for name in recording.channels}
    kept = Recording.from_columns(recording.time[charging], columns)
    return kept, Site.load(path.with_suffix(".toml")), (inverter.idle_w, inverter.slope)


def changed(recording, channel, scale, offset):
    columns = {name: recording.column(name).astype(float) for name in recording.channels}
    columns[channel] = np.round(columns[channel] * scale + offset)
    return Recording.from_columns(recording.time, columns)


def by_regression(recording, law):
    """The meter and kind that a regression prefers, with how much of the sum of squares it takes."""
    idle, slope = law
    count = len(recording) // CELL
    read = np.array(
        [
            recording.column(name)[: count * CELL].astype(float).reshape(count, CELL).mean(axis=1)
            for name in METERS
        ]
    )
    # generator = load + AC side; DC side = kept share of it less idle; battery = DC side + sun.
    keep = 1.0 - slope
    free = np.array([[1, 1, 0], [1, 0, 0], [0, 1, 0], [0, keep, 0], [0, 0, 1], [0, keep, 1.0]])
    known = np.array([0, 0, 0, -idle, 0, -idle])
    y = (read - known[:, None]).T.ravel()
    design = np.kron(np.eye(count), free)
    sd = np.hypot(GAIN * np.abs(read).mean(axis=1), OFFSET_W)
    weight = np.tile(1.0 / sd**2, count)
    plain = sm.WLS(y, design, weights=weight).fit()
    taken = {}
    for row, name in enumerate(METERS):
        for kind, column in (("scale", read[row]), ("offset", np.ones(count))):
            fault = np.zeros((count, len(METERS)))
            fault[:, row] = column
            with_it = sm.WLS(y, np.column_stack((design, fault.ravel())), weights=weight).fit()
            taken[name, kind] = (plain.ssr - with_it.ssr, with_it.pvalues[-1])
    return max(taken.items(), key=lambda each: each[1][0])


@pytest.mark.parametrize(
    ("channel", "scale", "offset"),
    [
        *((name, scale, 0.0) for name in METERS for scale in (-1.0, 1.5)),
        *((name, 1.0, offset) for name in METERS[2:4] for offset in (400.0,)),
    ],
)
def test_both_name_the_same_meter(plant, channel, scale, offset):
    recording, site, law = plant
    lying = changed(recording, channel, scale, offset)
    (meter, kind), (_, chance) = by_regression(lying, law)
    (found,) = named(suspects(lying, site))
    assert chance < 1e-9
    assert meter == channel == found[0]
    assert kind == ("scale" if found[1] == "reversed" else found[1])


def test_both_find_a_healthy_plant_healthy(plant):
    recording, site, law = plant
    _, (taken, _) = by_regression(recording, law)
    (_, (lied, _)) = by_regression(changed(recording, "battery_power", 1.5, 0.0), law)
    assert suspects(recording, site) == ()
    assert taken < 0.05 * lied


@pytest.mark.parametrize("seed", range(6))
def test_a_network_s_tests_are_the_regression_s(seed):
    chance = np.random.default_rng(seed)
    streams, nodes = 7, 3
    balances = chance.integers(-1, 2, (nodes, streams)).astype(float)
    balances[:, :nodes] += 2 * np.eye(nodes)
    free = np.linalg.svd(balances)[2][nodes:].T
    sd = chance.uniform(0.5, 3.0, streams)
    y = free @ chance.normal(0, 50, streams - nodes) + sd * chance.standard_normal(streams)
    y[seed] += 12 * sd[seed]
    ours = reconcile_network(balances, y[:, None], sd=sd[:, None])
    theirs = sm.OLS(y / sd, free / sd[:, None]).fit()
    influence = OLSInfluence(theirs)
    np.testing.assert_allclose(ours.value[:, 0], theirs.fittedvalues * sd, rtol=1e-8, atol=1e-8)
    assert ours.chi2[0] == pytest.approx(theirs.ssr)
    # Its scale is estimated from what is left over, ours known to be 1.
    standardised = np.abs(influence.resid_studentized_internal) * np.sqrt(theirs.scale)
    np.testing.assert_allclose(ours.measurement_test[:, 0], standardised, rtol=1e-8)
    assert np.argmax(ours.measurement_test[:, 0]) == np.argmax(influence.resid_studentized_external**2)
