"""The plant's own balances, prepared for one pattern of meters and one direction of the converter."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.bounds import NonNegative
from desktop.flow.conversion import Conversion
from desktop.flow.forms import Terms, terms_of
from desktop.flow.least_squares import LeastSquares
from desktop.flow.network import LAW, Network
from desktop.flow.observability import Observability
from desktop.flow.streams import BALANCE, GAPS, INDEX, SIGNED, STREAMS

Floats = NDArray[np.float64]

_AC, _DC = 0, 2
_CONVERTER_AC, _CONVERTER_DC = INDEX["converter_ac"], INDEX["converter_dc"]


def direction(network: Network, metered: frozenset[int]) -> tuple[Terms, int]:
    """Weights on metered streams whose sum estimates the power through the converter, positive when charging.

    Returned with how many tell it, whose estimates are summed: converter meters, and each bus whose other streams
    are all metered. Empty where nothing tells.
    """
    witnesses = []
    for meter in (_CONVERTER_AC, _CONVERTER_DC):
        if meter in metered:
            witnesses.append(np.eye(len(STREAMS))[meter])
    for bus, converter, sign in ((_AC, _CONVERTER_AC, 1.0), (_DC, _CONVERTER_DC, -1.0)):
        others = _others(network, bus, converter)
        if network.has("loss") and set(terms_rows(others)) <= metered:
            witnesses.append(sign * others)
    return (terms_of(np.sum(witnesses, axis=0)), len(witnesses)) if witnesses else ((), 1)


def _others(network: Network, bus: int, converter: int) -> Floats:
    weights = np.array([BALANCE[bus, i] if network.has(name) else 0.0 for i, name in enumerate(STREAMS)])
    weights[converter] = 0.0
    return weights


def terms_rows(weights: Floats) -> list[int]:
    """The streams that take part."""
    return np.flatnonzero(weights).tolist()


@dataclass(frozen=True, slots=True)
class PlantBalance:
    """What one pattern of meters allows.

    squares  the least squares over STREAMS and LAW
    bounds   the same with the streams that can't be negative
    places   place of GAPS → number of the constraint whose residual is the power unaccounted for there
    absent   streams that the plant doesn't have
    """

    squares: LeastSquares
    bounds: NonNegative
    places: dict[int, int]
    absent: tuple[int, ...]

    @classmethod
    def of(
        cls, network: Network, conversion: Conversion, metered: frozenset[int], *, charging: bool
    ) -> PlantBalance:
        """metered: numbers of the streams with a reading; those that the plant doesn't have are ignored."""
        balances = network.balances(conversion.slope, charging=charging)
        streams = [INDEX[name] for name in network.present]
        law = [LAW] if network.has("loss") else []
        measured = [*(i for i in streams if i in metered), *law]
        unmeasured = [i for i in streams if i not in metered]
        if not law:
            balances = balances[:1]
        gaps = _gaps(network, conversion, metered, charging=charging)
        known = Observability.of(balances, measured, unmeasured, list(gaps.values()))
        bounded = [i for i in streams if STREAMS[i] not in SIGNED]
        return cls(
            LeastSquares(known, hidden=law),
            NonNegative(balances, known, bounded),
            _numbered(gaps, known),
            tuple(i for i in range(len(STREAMS)) if i not in streams),
        )


def _gaps(
    network: Network, conversion: Conversion, metered: frozenset[int], *, charging: bool
) -> dict[str, Floats]:
    """Combinations of the balances that say what a place leaves unaccounted, where its meters read.

    Between the buses stands the converter: up·(AC side) − down·(DC side) − idle loss = 0, where the side that
    feeds it loses the slope.
    """
    if not network.has("loss"):
        return {"ac": np.array([1.0])}
    up, down = (1 - conversion.slope, 1.0) if charging else (1.0, 1 - conversion.slope)
    ac, dc = np.array([1.0, 0, 0, 0]), np.array([0, 0, 1.0, 0])
    converter = np.array([0, 1.0, 0, 1.0])
    if _CONVERTER_AC in metered and _CONVERTER_DC in metered:
        return {"ac": ac, "dc": dc}
    if _CONVERTER_AC in metered:
        return {"ac": ac, "dc": dc + converter / down}
    if _CONVERTER_DC in metered:
        return {"ac": ac + converter / up, "dc": dc}
    return {"both": up * ac + down * dc + converter}


def _numbered(gaps: dict[str, Floats], known: Observability) -> dict[int, int]:
    found = {}
    for place, combination in gaps.items():
        for number, chosen in enumerate(known.combination):
            if np.array_equal(chosen, combination):
                found[GAPS.index(place)] = number
    return found
