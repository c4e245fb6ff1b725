"""The pictures of a report: the flow diagram at an instant, and trends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import tzinfo
from itertools import count

import numpy as np
from numpy.typing import NDArray

from desktop.diagnosis.suspects import Evidence
from desktop.picture.svg.diagram import diagram_svg
from desktop.picture.svg.trends import trends_svg
from desktop.picture.trends.of_review import trends_of
from desktop.picture.trends.source import Band, LimitLine, Pane, Series, TrendSource
from desktop.report.blocks import Figure
from desktop.review import Review
from desktop.words import Phrase

_WIDE_PX, _HIGH_PX = 660.0, 385.0
_PANE_PX, _ALONE_PX = 88.0, 130.0
_BRIDGED = 3


class Pictures:
    """Makes the pictures of one report, and numbers them.

    theme  of the pictures: a key of `desktop.picture.palette.THEMES`
    """

    def __init__(self, review: Review, theme: str = "light") -> None:
        self._review = review
        self._theme = theme
        self._source = trends_of(review)
        self._numbers = count(1)

    def flow(self, instant: int, caption: Phrase) -> Figure:
        """The flow diagram at an instant (UTC nanoseconds), told by its caption and its own headline."""
        number = next(self._numbers)
        moment = self._review.moment(instant)
        told = f"{caption} {moment.headline}"
        svg = diagram_svg(
            moment, told, width=_WIDE_PX, height=_HIGH_PX, theme=self._theme, name=f"flow-{number}"
        )
        return Figure(f"figure-{number}", number, told, svg)

    def trends(
        self,
        panes: Sequence[str],
        caption: Phrase,
        *,
        between: tuple[int, int] | None = None,
        at: Sequence[int] = (),
    ) -> Figure:
        """Curves in these panes, over all of the time or a part (UTC nanoseconds), with instants marked."""
        number = next(self._numbers)
        svg = trends_svg(
            _chosen(self._source, panes),
            str(caption),
            between=between,
            at=at,
            pane_height=_PANE_PX,
            theme=self._theme,
        )
        return Figure(f"figure-{number}", number, str(caption), svg, tall=True)

    def imbalance(self, evidence: Evidence, caption: Phrase) -> Figure | None:
        """What doesn't add up as recorded and as corrected; None where nothing tells."""
        if len(evidence.time) < 2 or not np.isfinite(evidence.recorded).any():
            return None
        number = next(self._numbers)
        source = _imbalance(evidence, self._source)
        svg = trends_svg(source, str(caption), pane_height=_ALONE_PX, theme=self._theme)
        return Figure(f"figure-{number}", number, str(caption), svg, tall=True)

    def pane_of(self, channel: str) -> str:
        """The pane in which a channel or stream is drawn; empty where it isn't."""
        name = channel.removesuffix("_power")
        return next((one.pane for one in self._source.series if one.key in (channel, name)), "")


@dataclass(frozen=True, slots=True)
class _Chosen:
    """A trend source of which some panes are drawn; one of which nothing is usually shown has all its curves."""

    zone: tzinfo
    revision: int
    time: NDArray[np.int64]
    bridge: int
    panes: Sequence[Pane]
    series: Sequence[Series]
    limits: Sequence[LimitLine]
    bands: Sequence[Band]
    gaps: NDArray[np.int64]


def _imbalance(evidence: Evidence, source: TrendSource) -> TrendSource:
    recorded, corrected = evidence.recorded.astype(np.float32), evidence.corrected.astype(np.float32)
    pane = next(each for each in source.panes if each.key == "unaccounted")
    series = (
        Series("recorded", Phrase("As recorded"), pane.key, "W", "unaccounted", "measured", lambda: recorded),
        Series("corrected", Phrase("Put right"), pane.key, "W", "load", "reconciled", lambda: corrected),
    )
    return _Chosen(
        zone=source.zone,
        revision=0,
        time=evidence.time,
        bridge=_BRIDGED * round(float(np.median(np.diff(evidence.time)))),
        panes=(pane,),
        series=series,
        limits=(),
        bands=(),
        gaps=np.empty((0, 2), np.int64),
    )


def _chosen(source: TrendSource, panes: Sequence[str]) -> TrendSource:
    usual = {series.pane for series in source.series if series.shown}
    series = [
        replace(each, shown=each.pane in panes and (each.shown or each.pane not in usual))
        for each in source.series
    ]
    return _Chosen(
        zone=source.zone,
        revision=source.revision,
        time=source.time,
        bridge=source.bridge,
        panes=source.panes,
        series=series,
        limits=source.limits,
        bands=source.bands,
        gaps=source.gaps,
    )
