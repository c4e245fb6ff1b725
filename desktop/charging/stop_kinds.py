"""How a run ended and why, judged by what was measured around its end. What can't be told apart is "unclear"."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from desktop.charging.stop_evidence import StopEvidence

if TYPE_CHECKING:
    # Sessions tell how they stopped, so they may import this module.
    from desktop.charging.sessions import Stop

Reason = Literal["overload", "dry tank", ""]

COOL_DOWN_S = 10.0
"""A set that runs on for longer than this without load was not dropped."""

_OVERLOAD_SHARE = 1.03
_FAR_OVER_SHARE = 1.15
_NEAR_FULL_SHARE = 0.9
_FULL_SHARE = 0.98
_HEAT_S = 0.8
"""Less overload than this opens no breaker and stalls no engine: 134 % for a second, or 110 % for four."""

_OPENS_S = 3.0
"""Nor any breaker alone, while the engine goes on."""

_EMPTY_PERCENT = 0.5
_LOW_PERCENT = 2.0
_FINE_S = 1.5
_CLOSE_S = 6.0


def judge(seen: StopEvidence) -> tuple[Stop, Reason]:
    """How a run ended, and why it was dropped where that is known."""
    if seen.torn:
        return "unclear", ""
    if seen.ran_on_s > COOL_DOWN_S or (seen.ran_on_s > 0 and not seen.stood):
        return _ran_on(seen)
    if _let_down(seen):
        return "normal", ""
    if not seen.loaded:
        return _DRY if seen.fuel <= _EMPTY_PERCENT else _UNCLEAR
    if seen.share > _OVERLOAD_SHARE:
        return _overloaded(seen)
    return _within_rating(seen)


_OVERLOAD: tuple[Stop, Reason] = ("under load", "overload")
_DRY: tuple[Stop, Reason] = ("dry tank", "dry tank")
_UNCLEAR: tuple[Stop, Reason] = ("unclear", "")


def _let_down(seen: StopEvidence) -> bool:
    """Whether the load was taken off before it went, so that no engine in trouble is needed to explain it."""
    if seen.sank_s > 0 or seen.interval_s > _CLOSE_S:
        return False
    if seen.wound_down:
        return True
    return seen.shed and not seen.fuel <= _LOW_PERCENT


def _ran_on(seen: StopEvidence) -> tuple[Stop, Reason]:
    """The engine ran on without load: relieved of it as it should be, or its breaker opened."""
    if seen.hunted:
        return _DRY if seen.fuel <= _EMPTY_PERCENT else _UNCLEAR
    if not seen.loaded or _let_down(seen) or not seen.last_share > 1.0:
        return "normal", ""
    # All of a full load at once: a breaker did that, or a row is too long to see it being taken back.
    opened = (seen.last_share > _FAR_OVER_SHARE and seen.interval_s <= _CLOSE_S) or seen.interval_s <= _FINE_S
    return _OVERLOAD if opened and seen.share > _OVERLOAD_SHARE and seen.heat_s > _OPENS_S else _UNCLEAR


def _overloaded(seen: StopEvidence) -> tuple[Stop, Reason]:
    """It carried more than it can, at least for a moment: what was over, or did it run dry meanwhile?"""
    slow = seen.sank_s != 0
    if slow and seen.last_share < _FAR_OVER_SHARE:
        if seen.fuel <= _EMPTY_PERCENT:
            return _DRY
        if not (seen.stepped and seen.last_share > _NEAR_FULL_SHARE) and not seen.fuel > _LOW_PERCENT:
            # It had carried that for a while before its speed sank.
            return _UNCLEAR
    if seen.fuel <= _LOW_PERCENT and not (seen.interval_s <= _FINE_S and seen.speed_known):
        return _UNCLEAR
    if not slow and seen.heat_s < _HEAT_S:
        return _within_rating(seen)
    return _OVERLOAD


def _within_rating(seen: StopEvidence) -> tuple[Stop, Reason]:
    if seen.fuel <= _EMPTY_PERCENT:
        return _DRY
    if seen.sank_s > 0:
        if seen.stepped and not seen.share < _NEAR_FULL_SHARE:
            # More than it could give, whatever its plate says.
            return _OVERLOAD if seen.fuel > _LOW_PERCENT else _UNCLEAR
        if seen.fuel <= _LOW_PERCENT:
            return _DRY
        # Short of fuel or air, by all signs; a gauge that says otherwise, a load step or a full load leave doubt.
        doubtful = seen.fuel > _LOW_PERCENT or seen.stepped or seen.share > _FULL_SHARE
        return _UNCLEAR if doubtful else _DRY
    if seen.sank_s != 0 and not seen.fuel > _LOW_PERCENT:
        return _UNCLEAR
    if seen.fuel <= _LOW_PERCENT:
        return _UNCLEAR
    if seen.asked_share > _FAR_OVER_SHARE and (seen.fuel > _LOW_PERCENT or seen.interval_s <= _CLOSE_S):
        # What was switched on between the last two rows asked for more than there was.
        return _OVERLOAD
    fine = seen.interval_s <= _FINE_S and seen.speed_known and seen.stood
    return ("under load", "") if fine else _UNCLEAR
