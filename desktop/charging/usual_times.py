"""Usual times of a set, where its maker's aren't known. Common practice, no source: makers ask for some minutes."""

from __future__ import annotations

WARM_UP_S = 120.0
"""So long a set runs without load before it takes any. A maker's longer or shorter time comes first."""

COOLED_S = 120.0
"""So long a set runs on without load before it is stopped. A maker's longer or shorter time comes first."""

STEADY_S = 10.0
"""In band for so long, frequency and voltage have settled."""
