"""What can be said at an instant of what is to come: the forecast of the charge, and the fuel till then."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import tzinfo
from typing import TYPE_CHECKING

from desktop.charging.forecast.forecast import Forecast
from desktop.charging.forecast.phrases import clock_time
from desktop.charging.fuel.curve import FuelCurve
from desktop.charging.fuel.running import running
from desktop.charging.fuel.state import fuel_at
from desktop.charging.fuel.tank import TankLeft
from desktop.charging.sessions import Session
from desktop.review.forecast import forecast_text
from desktop.words import Phrase

if TYPE_CHECKING:
    from desktop.review.reviewing import Review


@dataclass(frozen=True, slots=True)
class Foresight:
    """What is to come, as of an instant.

    forecast  None where nothing is being charged, or nothing can be said
    curve     of the fuel; None where nothing tells
    tank      what is left in it then; None where nothing tells
    """

    at: int
    forecast: Forecast | None
    curve: FuelCurve | None
    tank: TankLeft | None

    def lines(self, zone: tzinfo) -> list[str]:
        """The forecast in sentences."""
        return forecast_text(self.forecast, zone)

    def fuel_lines(self, session: Session, zone: tzinfo) -> Iterator[tuple[Phrase, Phrase]]:
        """What it is and how much, of the fuel: burnt in a session as far as it has come, and the tank."""
        if self.curve is None:
            return
        burnt = self.curve.burnt((session.end - session.start) / 3600e9, session.generator_wh)
        if burnt > 0:
            yield (
                Phrase("Fuel burnt"),
                Phrase(
                    "{amount:.1f} ± {sd:.1f} {unit}",
                    amount=burnt,
                    sd=max(0.1, self.curve.sd * burnt),
                    unit=self.curve.unit,
                ),
            )
        if self.tank is not None:
            yield (
                Phrase("Left in the tank"),
                Phrase("{amount:.0f} {unit}", amount=self.tank.amount, unit=self.curve.unit),
            )
        empty = None if self.forecast is None else self.forecast.tank_empty
        if self.forecast is not None and empty is not None and empty.at is not None:
            yield Phrase("Tank empty at"), clock_time(empty.at, self.forecast.at, zone)


def foresee(review: Review, instant: int) -> Foresight:
    """Look ahead from an instant (UTC nanoseconds); only what was over then is looked at."""
    minutes = review.minutes.until(instant)
    if not len(minutes):
        return Foresight(instant, None, None, None)
    ran = running(minutes, review.learned, review.site)
    curve, tank = fuel_at(minutes, ran, review.site)
    if tank is not None and not math.isfinite(tank.amount):
        tank = None
    return Foresight(instant, review.forecast_at(instant), curve, tank)
