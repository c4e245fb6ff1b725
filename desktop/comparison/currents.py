"""The generator's input current, row by row."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.review import Review
from recordings.channels import LEGS

Floats = NDArray[np.float64]

CURRENTS = ("generator_current", *(f"generator_current_{leg}" for leg in LEGS))


def input_currents(review: Review) -> Floats:
    """(n,) the highest of all legs, A: as metered, else worked out from the power; NaN where nothing tells."""
    recording, set_ = review.recording, review.site.generator
    read = [np.abs(recording.column(name).astype(np.float64)) for name in CURRENTS if name in recording]
    volts = review.learned.volts
    if read:
        return np.asarray(np.fmax.reduce(read))
    power: Floats = np.abs(review.stream("generator").astype(np.float64))
    return power / (volts * set_.legs * set_.power_factor)
