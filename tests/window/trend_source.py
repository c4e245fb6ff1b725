"""A small source of trends for tests of the window."""

from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

import numpy as np

from desktop.picture.trends.source import Band, LimitLine, Pane, Series
from desktop.words import Phrase

S = 1_000_000_000
BERLIN = ZoneInfo("Europe/Berlin")
NOON = 1_771_066_800 * S
"""2026-02-14 12:00 in Berlin."""


@dataclass
class SmallSource:
    """A generator that starts after a quarter of the time, a house, a battery's charge, a frequency."""

    rows: int = 7200
    zone: ZoneInfo = BERLIN
    revision: int = 0
    bridge: int = 60 * S
    panes: tuple[Pane, ...] = (
        Pane("power", Phrase("Power"), "kW", 1e-3, "zero"),
        Pane("soc", Phrase("State of charge"), "%", most=(0.0, 100.0)),
        Pane("frequency", Phrase("Frequency"), "Hz", base="running"),
    )
    limits: tuple[LimitLine, ...] = (LimitLine("power", 5750.0, Phrase("input limit")),)
    bands: tuple[Band, ...] = (
        Band(NOON + 1800 * S, NOON + 1900 * S, "attend", Phrase("Generator frequency low")),
        Band(NOON + 4000 * S, NOON + 4014 * S, "act now", Phrase("Charging above the input limit")),
    )
    columns: dict[str, np.ndarray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.grow_to(self.rows)
        curves = (
            ("generator", "power", "W", "reconciled"),
            ("load", "power", "W", "reconciled"),
            ("generator_power", "power", "W", "measured"),
            ("soc", "soc", "%", "measured"),
            ("frequency", "frequency", "Hz", "measured"),
        )
        self.series = [
            Series(key, Phrase(key), pane, unit, key.split("_")[0], kind, lambda key=key: self.columns[key])
            for key, pane, unit, kind in curves
        ]

    def grow_to(self, rows: int) -> None:
        self.rows = rows
        self.time = NOON + np.arange(rows, dtype=np.int64) * S
        at = np.arange(rows)
        runs = at >= 1800
        generator = np.where(runs, 5000.0 + 50 * np.sin(at), 0.0)
        generator[4000:4014] = 6400.0
        self.columns = {
            "generator": generator,
            "generator_power": generator * 1.02,
            "load": 800.0 + 100 * np.sin(at / 300),
            "soc": 50 + at / 400,
            "frequency": np.where(runs, 49.5, 0.0),
        }
        self.gaps = np.array([[NOON + 3000 * S, NOON + 3200 * S]])
        for name, values in self.columns.items():
            self.columns[name] = values.astype(np.float32)
            self.columns[name][3001:3200] = np.nan
