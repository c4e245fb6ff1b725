"""The few numbers that matter most: how full, how long, how much, what it burnt."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from desktop.charging.energy import Amount
from desktop.report.account import Account
from desktop.report.blocks import Facts
from desktop.report.digits import fuel_places, told
from desktop.review.course import NEAR_TARGET
from desktop.words import Phrase, decimal, duration, percent, tr

_LEAST_WH = 50.0


def facts(account: Account) -> Iterator[Facts]:
    """The numbers side by side; nothing where none is known."""
    review = account.review
    found = [*_level(account)]
    if review.sessions:
        spent_s = sum(one.end - one.start for one in review.sessions) / 1e9
        charges = (
            tr("generator under load")
            if len(review.sessions) == 1
            else str(Phrase("generator under load, {count:d} times", count=len(review.sessions)))
        )
        found += [(duration(spent_s), charges), *_energy(account, "generator", tr("from the generator"))]
        found += _fuel(account)
    else:
        if review.energy.covers(review.energy.solar):
            found += _kwh(account, review.energy.solar, tr("from the sun"))
        found += _energy(account, "load", tr("to the house"))
        found += _energy(account, "battery", tr("into the battery"))
    if found:
        yield Facts(tuple(found))


def _level(account: Account) -> Iterator[tuple[str, str]]:
    review = account.review
    if len(review.sessions) == 1:
        start, end = review.sessions[0].soc_start, review.sessions[0].soc_end
        what = _charge(account, end)
    elif "battery_soc" in review.recording:
        readings = review.recording.column("battery_soc")
        known = readings[np.isfinite(readings)]
        if not known.size:
            return
        start, end = float(known.min()), float(known.max())
        what = tr("state of charge, lowest and highest")
        if math.isfinite(start):
            yield f"{decimal(start, 0)}\u2013{percent(end)}", what
        return
    else:
        return
    if math.isfinite(start) and math.isfinite(end):
        yield f"{decimal(start, 0)}\u00a0→\u00a0{percent(end)}", what


def _charge(account: Account, end: float) -> str:
    """What the tile of a charge is called: with the target, where it ended elsewhere."""
    target = account.review.site.battery.target_soc
    if account.review.sessions[0].stop != "normal" or not abs(end - target) >= NEAR_TARGET:
        return tr("state of charge")
    return str(Phrase("state of charge; target {target:%}", target=target))


def _energy(account: Account, name: str, what: str) -> Iterator[tuple[str, str]]:
    books = account.review.energy
    amount = books.forward[name]
    if books.covers(amount):
        yield from _kwh(account, amount, what)


def _kwh(account: Account, amount: Amount, what: str) -> Iterator[tuple[str, str]]:
    if not amount.wh >= _LEAST_WH:
        return
    number = f"{told(amount.wh / 1000, amount.sd / 1000)} kWh"
    yield number, doubted(account, what)


def _fuel(account: Account) -> Iterator[tuple[str, str]]:
    known = [one for one in account.review.fuel.sessions if one is not None and math.isfinite(one.amount)]
    if not known:
        return
    amount, sd = sum(one.amount for one in known), sum(one.sd for one in known)
    digits = fuel_places(sd)
    number = f"{decimal(amount, digits)}\u00a0±\u00a0{decimal(sd, digits)} {known[0].unit}"
    yield number, doubted(account, tr("fuel burnt"))


def doubted(account: Account, what: str) -> str:
    """What a number is, marked where it is in doubt."""
    return str(Phrase("{what} (in doubt)", what=what)) if account.in_doubt else what
