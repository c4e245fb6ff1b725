"""All that is known of the fuel at the end of a minute book."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from desktop.charging.fuel.calibration import calibrated
from desktop.charging.fuel.curve import FuelCurve, fuel_curve
from desktop.charging.fuel.running import Running, running
from desktop.charging.fuel.runs import Burnt, burnt_of
from desktop.charging.fuel.tank import TankLeft, tank_left
from desktop.charging.sessions import Session
from desktop.charging.stops import Facts
from desktop.flow.minutes import Minutes
from desktop.site import Site


@dataclass(frozen=True, slots=True)
class Fuel:
    """What is known of the fuel.

    curve     None where neither the sheet nor a published line tells
    sessions  what each session burnt; None where there is no curve
    tank      what is left; None where nothing tells
    """

    curve: FuelCurve | None
    sessions: tuple[Burnt | None, ...]
    tank: TankLeft | None


def fuel_of(minutes: Minutes, sessions: Sequence[Session], facts: Facts, site: Site) -> Fuel:
    """The fuel of a recording: the curve, what each session burnt, what is left."""
    ran = running(minutes, facts, site)
    curve, tank = fuel_at(minutes, ran, site)
    if curve is None:
        return Fuel(None, (None,) * len(sessions), None)
    return Fuel(curve, burnt_of(sessions, ran, curve, site), tank)


def fuel_at(minutes: Minutes, ran: Running, site: Site) -> tuple[FuelCurve | None, TankLeft | None]:
    """The calibrated curve and the tank at the end of `ran`, which is the minute book or its beginning."""
    curve = fuel_curve(site)
    if curve is None or not len(ran):
        return curve, None
    level = minutes.channel("fuel_level")[: len(ran)]
    curve = calibrated(curve, ran, level, site)
    return curve, tank_left(curve, ran, level, site)
