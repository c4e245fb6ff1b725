"""The pictures of a report: the flow diagram at an instant, and trends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import count

import numpy as np

from desktop.diagnosis.suspects import Evidence
from desktop.picture.svg.diagram import diagram_svg
from desktop.picture.svg.trends import trends_svg
from desktop.picture.trends.of_review import trends_of
from desktop.picture.trends.source import Series, TrendSource
from desktop.report.account import Account
from desktop.report.blocks import Figure
from desktop.report.curves import Chosen, chosen
from desktop.review.moment import GeneratorNow
from desktop.words import Phrase, current, frequency, template, tr, voltage

_WIDE_PX, _HIGH_PX = 720.0, 405.0
_NARROW_PX, _NARROW_HIGH_PX = 430.0, 420.0
_PANES_PX, _LEAST_PX, _MOST_PX = 400.0, 66.0, 112.0
_TRENDS_PX, _TRENDS_NARROW_PX = 760.0, 400.0
_ALONE_PX = 130.0
_BRIDGED = 3

_READING = template(
    "Powers are made to add up; unaccounted is what the meters left over. AC bus: house wiring; DC bus: battery "
    "wiring."
)


class Pictures:
    """Makes the pictures of one report, and numbers them.

    theme  of the pictures: a key of `desktop.picture.palette.THEMES`
    """

    def __init__(self, account: Account, theme: str = "light") -> None:
        self._review = account.review
        self._theme = theme
        self._source = trends_of(account.review)
        self._as_read = account.in_doubt
        self._numbers = count(1)
        self._explained = False

    def flow(self, instant: int, caption: str) -> Figure:
        """The flow diagram at an instant (UTC nanoseconds); who can't see it is told its headline as well.

        How to read it is told below the first one.
        """
        number = next(self._numbers)
        moment = self._review.moment(instant)
        caption = " ".join(text for text in (caption, _terminals(moment.generator)) if text)
        told = f"{caption} {moment.headline}"
        wide, narrow = (
            diagram_svg(moment, told, width=width, height=height, theme=self._theme, name=name)
            for width, height, name in (
                (_WIDE_PX, _HIGH_PX, f"flow-{number}"),
                (_NARROW_PX, _NARROW_HIGH_PX, f"flow-{number}-narrow"),
            )
        )
        if not self._explained:
            caption = f"{caption} {tr(_READING)}"
            self._explained = True
        return Figure(f"figure-{number}", number, caption, wide, narrow=narrow)

    def trends(
        self,
        panes: Sequence[str],
        caption: str,
        *,
        between: tuple[int, int] | None = None,
        at: Sequence[int] = (),
    ) -> Figure:
        """Curves in these panes, over all of the time or a part (UTC nanoseconds), with instants marked.

        panes  keys of panes; "powers" for a pane of each power
        """
        number = next(self._numbers)
        source = chosen(self._source, panes, self._as_read)
        shown = len({each.pane for each in source.series if each.shown})
        height = min(_MOST_PX, max(_LEAST_PX, _PANES_PX / max(1, shown)))
        wide, narrow = (
            trends_svg(
                source,
                caption,
                between=between,
                at=at,
                width=width,
                pane_height=height,
                theme=self._theme,
            )
            for width in (_TRENDS_PX, _TRENDS_NARROW_PX)
        )
        return Figure(f"figure-{number}", number, caption, wide, tall=True, narrow=narrow)

    def imbalance(self, evidence: Evidence, caption: str) -> Figure | None:
        """What doesn't add up as recorded and as corrected; None where nothing tells."""
        if len(evidence.time) < 2 or not np.isfinite(evidence.recorded).any():
            return None
        number = next(self._numbers)
        source = _imbalance(evidence, self._source)
        wide, narrow = (
            trends_svg(source, caption, width=width, pane_height=_ALONE_PX, theme=self._theme)
            for width in (_TRENDS_PX, _TRENDS_NARROW_PX)
        )
        return Figure(f"figure-{number}", number, caption, wide, tall=True, narrow=narrow)

    def pane_of(self, channel: str) -> str:
        """The pane in which a channel or stream is drawn; empty where it isn't."""
        name = channel.removesuffix("_power")
        for one in self._source.series:
            if one.key in (channel, name) or one.key.startswith(f"{channel}_l"):
                return one.pane
        return ""


def _terminals(generator: GeneratorNow) -> str:
    """What the set's terminals showed, for which a narrow picture has no room; empty where nothing is known."""
    amperes = current(generator.current)
    if generator.limit_a is not None:
        amperes = str(Phrase("{amperes} of {limit:A}", amperes=amperes, limit=generator.limit_a))
    told = [
        text
        for value, text in (
            (generator.current, amperes),
            (generator.frequency, frequency(generator.frequency)),
            (generator.voltage, voltage(generator.voltage)),
        )
        if math.isfinite(value)
    ]
    if not generator.running or not told:
        return ""
    return str(Phrase("The generator then: {values}.", values=", ".join(told)))


def _imbalance(evidence: Evidence, source: TrendSource) -> TrendSource:
    recorded, corrected = evidence.recorded.astype(np.float32), evidence.corrected.astype(np.float32)
    pane = next(each for each in source.panes if each.key == "unaccounted")
    series = (
        Series("recorded", Phrase("As recorded"), pane.key, "W", "unaccounted", "measured", lambda: recorded),
        Series("corrected", Phrase("Put right"), pane.key, "W", "load", "reconciled", lambda: corrected),
    )
    return Chosen(
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
