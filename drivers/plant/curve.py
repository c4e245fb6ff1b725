"""A line through points."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence


class Curve:
    """Straight between its points, flat outside them. Calling it gives y at x."""

    __slots__ = ("_slopes", "_x", "_y")

    def __init__(self, points: Sequence[tuple[float, float]]) -> None:
        self._x = [float(x) for x, _ in points]
        self._y = [float(y) for _, y in points]
        rise = zip(self._y, self._y[1:], strict=False)
        run = zip(self._x, self._x[1:], strict=False)
        self._slopes = [(b - a) / (d - c) for (a, b), (c, d) in zip(rise, run, strict=True)]

    def __call__(self, x: float) -> float:
        after = bisect_right(self._x, x)
        if after == 0:
            return self._y[0]
        if after == len(self._x):
            return self._y[-1]
        return self._y[after - 1] + self._slopes[after - 1] * (x - self._x[after - 1])

    def scaled(self, factor: float) -> Curve:
        """The same curve with every y multiplied."""
        return Curve([(x, y * factor) for x, y in zip(self._x, self._y, strict=True)])
