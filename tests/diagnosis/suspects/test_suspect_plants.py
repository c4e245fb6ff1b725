"""Random plants: no healthy meter is accused, and hardly ever the wrong one alone."""

import numpy as np
import pytest
from suspect_help import suspects
from suspect_plants import healthy_variant, record, with_fault

SEEDS = range(1000, 1006)


@pytest.fixture(scope="module", params=SEEDS)
def plant(request):
    return record(request.param)


def test_healthy_plants_accuse_nobody(plant):
    chance = np.random.default_rng(plant.seed)
    for _ in range(2):
        recording, kind = healthy_variant(plant, chance)
        assert suspects(recording, plant.site) == (), kind


def test_a_fault_is_named_or_among_those_named(plant):
    chance = np.random.default_rng(plant.seed + 1)
    for _ in range(3):
        recording, put = with_fault(plant, chance)
        found = suspects(recording, plant.site)
        group = [(each.channel, each.fault) for each in found for each in (each, *each.rivals)]
        if group:
            assert (put.channel, put.fault) in [("+".join(sorted(a.split("+"))), b) for a, b in group], put
