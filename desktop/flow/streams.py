"""The streams of power in a plant, and the two buses and the converter at which they must balance.

AC bus      generator + grid + solar_ac − load − converter_ac = 0
converter   converter_ac − converter_dc − loss = 0
DC bus      solar + converter_dc − battery − dc_load = 0
"""

from __future__ import annotations

import numpy as np

STREAMS: tuple[str, ...] = (
    "generator",
    "grid",
    "solar_ac",
    "load",
    "converter_ac",
    "converter_dc",
    "solar",
    "battery",
    "dc_load",
    "loss",
)
"""Every stream, in the order of the rows of every (10, n) array. Signs as in the channel vocabulary."""

INDEX: dict[str, int] = {name: row for row, name in enumerate(STREAMS)}

CHANNEL_OF: dict[str, str] = {name: f"{name}_power" for name in STREAMS if name != "loss"}
"""The channel that measures each stream."""

SIGNED: frozenset[str] = frozenset({"grid", "converter_ac", "converter_dc", "battery"})
"""Streams that run both ways; all others can't be negative."""

BUSES: tuple[str, ...] = ("ac", "converter", "dc")

BALANCE: np.ndarray = np.array(
    [
        # gen grid  sac load  cac cdc sol bat dcl loss
        [1, 1, 1, -1, -1, 0, 0, 0, 0, 0],
        [0, 0, 0, 0, 1, -1, 0, 0, 0, -1],
        [0, 0, 0, 0, 0, 1, 1, -1, -1, 0],
    ],
    dtype=np.float64,
)
"""(3, 10): one row per bus of BUSES; BALANCE @ streams = 0."""

GAPS: tuple[str, ...] = ("ac", "dc", "both")
"""Where power can be missing: the rows of every (3, n) array of unaccounted power. "both" stands for the two
buses and the converter taken together, where no meter sits between them."""

SOURCES: tuple[str, ...] = ("generator", "grid", "solar_ac", "solar", "battery")
SINKS: tuple[str, ...] = ("load", "battery", "grid", "dc_load", "losses")
"""Rows and columns of the source-to-sink table, (5, 5, n). A battery is a source while it discharges and a
sink while it charges; the grid a source of import and a sink of export."""
