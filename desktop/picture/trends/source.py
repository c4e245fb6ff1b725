"""What a trend view draws: curves on one time base, with limits, findings and gaps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import tzinfo
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.finding import Severity
from desktop.picture.levels import Values
from desktop.words import Phrase

Kind = Literal["reconciled", "measured"]
Base = Literal["zero", "running", "free"]


@dataclass(frozen=True, slots=True)
class Pane:
    """One strip of the view; its curves share a unit and a value axis.

    unit     the unit that is shown
    scale    shown value = value × scale
    base     "zero": the axis always holds zero; "running": what a machine shows that stands, starts or stops is
             no reason to stretch the axis; "free": the axis fits the values
    most     greatest useful stretch of the axis in SI, None where there is none (0..100 for a percentage)
    running  with base "running": below this share of the greatest value the machine stands, starts or stops
    """

    key: str
    title: Phrase
    unit: str
    scale: float = 1.0
    base: Base = "free"
    most: tuple[float, float] | None = None
    running: float = 0.8


@dataclass(frozen=True, slots=True)
class Series:
    """One curve. `values()` gives (n,) float32 in SI, NaN where nothing is known, one per row of the time base.

    unit   a quantity of `desktop.words` (W, A, V, Hz, %, °C), for values in text
    role   names its colour
    """

    key: str
    label: Phrase
    pane: str
    unit: str
    role: str
    kind: Kind
    values: Callable[[], Values]
    shown: bool = True


@dataclass(frozen=True, slots=True)
class LimitLine:
    """A limit in SI, drawn across a pane. `assumed` where nobody stated it."""

    pane: str
    value: float
    label: Phrase
    assumed: bool = False

    @property
    def name(self) -> Phrase:
        """What to write beside it: its label, and that it is assumed where it is."""
        return Phrase("{limit} (assumed)", limit=self.label) if self.assumed else self.label


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch of time that something is said about (UTC nanoseconds); `end` is None while it stands."""

    start: int
    end: int | None
    severity: Severity
    title: Phrase


class TrendSource(Protocol):
    """All that a trend view needs to know. Everything may grow between two looks; `revision` changes when the
    past has changed as well."""

    @property
    def zone(self) -> tzinfo:
        """The clock to show."""

    @property
    def revision(self) -> int:
        """Another number whenever values of earlier rows have changed."""

    @property
    def time(self) -> NDArray[np.int64]:
        """(n,) UTC nanoseconds, strictly rising."""

    @property
    def bridge(self) -> int:
        """Longest step between two readings that a line may cross, nanoseconds."""

    @property
    def panes(self) -> Sequence[Pane]:
        """From top to bottom."""

    @property
    def series(self) -> Sequence[Series]:
        """In the order of the legend."""

    @property
    def limits(self) -> Sequence[LimitLine]:
        """Limit lines of all panes."""

    @property
    def bands(self) -> Sequence[Band]:
        """Findings, in order of their start."""

    @property
    def gaps(self) -> NDArray[np.int64]:
        """(m, 2) start and end of telemetry gaps, UTC nanoseconds, in order."""
