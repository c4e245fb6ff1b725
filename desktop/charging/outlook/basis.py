"""The days that an outlook draws from: recorded ones, typed ones, or a recording completed by what was typed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from desktop.charging.battery.chemistry import absorb_v
from desktop.charging.outlook.amounts import about, plain
from desktop.charging.outlook.assumption import Assumption, Source
from desktop.charging.outlook.curtailed import Uncurtailed
from desktop.charging.outlook.days import Days
from desktop.charging.outlook.draw import SEASON_DAYS, year_apart
from desktop.charging.outlook.evidence import Evidence
from desktop.charging.outlook.recorded import Recorded, recorded_days
from desktop.charging.outlook.typed import typed_days, with_appliances, with_sun
from desktop.site import Appliance, Site
from desktop.words import Phrase, local, template
from recordings.errors import UsageError

FEW_DAYS = 7.0
"""With less than a week not even every day of the week was seen."""

_WORTH_TELLING_H = 0.5
_EPOCH = date(1970, 1, 1)
_GIVEN: Source = "given"
_RECORDED: Source = "recorded"


@dataclass(frozen=True, slots=True)
class Basis:
    """The days, the date on which the outlook begins, what the days rest on, and what is to be said of them.

    appliances  those whose load it is; empty where the load is recorded
    """

    days: Days
    first_date: int
    assumptions: tuple[Assumption, ...]
    remarks: tuple[Phrase, ...]
    appliances: tuple[Appliance, ...]


def basis(
    site: Site,
    evidence: Evidence | None,
    appliances: Sequence[Appliance] | None = None,
    sun_hours: float | None = None,
) -> Basis:
    """Put the days together.

    appliances  in place of the recorded load; None takes the sheet's where nothing is recorded
    sun_hours   hours of full sun in a typical day, in place of the recorded sun; None for none

    UsageError where neither a recording nor appliances tell the load.
    """
    sun = _typed_sun_wh(site, sun_hours)
    typed = tuple(site.appliance if appliances is None else appliances)
    found, remarks = _recorded(site, evidence, typed)
    if found is None:
        if not typed:
            raise UsageError(
                "nothing tells what the house takes",
                mend="name a recording with its load, or a file of appliances with --appliances",
            )
        days, recorded = typed_days(typed, *sun), None
    else:
        typed = tuple(appliances or ())
        days, recorded = found.days, float(found.days.weight.sum())
        if sun_hours is not None:
            days = with_sun(days, *sun)
        elif days.sun_wh.any():
            remarks += _curtailed(found.curtailed)
        if typed:
            days = with_appliances(days, typed)
    first = 0 if evidence is None else _day_after(evidence, site)
    return Basis(days, first, tuple(_told(days, recorded, sun_hours)), tuple(remarks), typed)


def _recorded(
    site: Site, evidence: Evidence | None, typed: tuple[Appliance, ...]
) -> tuple[Recorded | None, list[Phrase]]:
    """The recorded days, and what is to be said of them. UsageError where there are none, and nothing is typed."""
    if evidence is None:
        return None, []
    try:
        volts = absorb_v(site.battery)
        found = recorded_days(
            evidence.minutes, site.zone, evidence.learned.gap_s, volts if volts > 0 else None
        )
    except UsageError:
        if not typed:
            raise
        return None, [
            Phrase("The recording holds no whole day of the house load; the appliances stand for it.")
        ]
    return found, [_rests_on(found.days), *_filled_in(found.days)]


def _typed_sun_wh(site: Site, sun_hours: float | None) -> tuple[float, float]:
    if not sun_hours:
        return 0.0, 0.0
    if site.solar.rated_w is None:
        raise UsageError(
            "hours of sun say nothing without the size of the panels",
            expected="rated_w under [solar] in the site sheet",
            mend="write it there",
        )
    energy = site.solar.rated_w * sun_hours
    return (energy, 0.0) if site.solar.coupling == "dc" else (0.0, energy)


def _day_after(evidence: Evidence, site: Site) -> int:
    day = local(int(evidence.minutes.time[-1]), site.zone).date()
    return day.toordinal() - _EPOCH.toordinal() + 1


def _told(days: Days, recorded: float | None, sun_hours: float | None) -> list[Assumption]:
    found = []
    if recorded is not None:
        found.append(
            Assumption("recorded_days", template("Whole days recorded"), round(recorded, 2), "", _RECORDED)
        )
    load: Source = _GIVEN if days.load_typed else _RECORDED
    mean = float(days.demand_wh.mean()) / 1000
    found.append(Assumption("load_kwh_per_day", template("Load a day"), mean, "kWh", load))
    if days.sun_wh.any():
        sun: Source = _GIVEN if days.sun_typed else _RECORDED
        mean = float(days.sun_wh.mean()) / 1000
        found.append(Assumption("solar_kwh_per_day", template("Sun a day"), mean, "kWh", sun))
    if sun_hours:
        found.append(Assumption("sun_hours", template("Hours of full sun a day"), sun_hours, "h", _GIVEN))
    return found


def _rests_on(days: Days) -> Phrase:
    recorded = float(days.weight.sum())
    values: dict[str, Any] = {
        "days": plain(recorded),
        "first": (_EPOCH + timedelta(days=int(days.date[0]))).isoformat(),
        "last": (_EPOCH + timedelta(days=int(days.date[-1]))).isoformat(),
    }
    if recorded < FEW_DAYS:
        return Phrase(
            "Only {days} days were recorded ({first} to {last}): other days may be quite different, and the ranges "
            "are widened for that.",
            **values,
        )
    return Phrase("The {days} recorded days run from {first} to {last}.", **values)


def _filled_in(days: Days) -> list[Phrase]:
    missing = 24 * (len(days) - float(days.weight.sum()))
    if missing < _WORTH_TELLING_H:
        return []
    return [
        Phrase(
            "In them {hours} hours weren't recorded; they are taken from the same time of the days around.",
            hours=about(missing),
        )
    ]


def beyond_season(days: Days, first_date: int, horizon: int) -> list[Phrase]:
    """What is to be said where the outlook runs into a season whose sun wasn't recorded."""
    if days.sun_typed or not days.sun_wh.any():
        return []
    if year_apart(days.date, first_date + horizon - 1).min() <= SEASON_DAYS:
        return []
    return [
        Phrase(
            "The sun of these days stands for all of the {days:d} days. Where the days grow shorter there will be "
            "less: try a smaller --overcast, and plan anew every few weeks.",
            days=horizon,
        )
    ]


def _curtailed(sun: Uncurtailed) -> list[Phrase]:
    if not sun.told:
        return [
            Phrase(
                "Nothing tells when the battery was full: if solar was held back then, there is more sun than this."
            )
        ]
    if sun.held_h < _WORTH_TELLING_H:
        return []
    if sun.estimated_h > 0.9 * sun.held_h:
        return [
            Phrase(
                "In {held} sunny hours the battery was full and solar may have been held back; what it could have "
                "given was estimated from the other hours.",
                held=about(sun.held_h),
            )
        ]
    return [
        Phrase(
            "In {held} sunny hours the battery was full and solar may have been held back; only for {estimated} of "
            "them could it be estimated, so there is more sun than this.",
            held=about(sun.held_h),
            estimated=about(sun.estimated_h),
        )
    ]
