"""What would have been said during each session."""

from __future__ import annotations

from collections.abc import Sequence

from desktop.charging.forecast.forecast import Forecast, forecast
from desktop.charging.sessions import Session
from desktop.flow.learned import Learned
from desktop.flow.minutes import Minutes
from desktop.site import Site

QUARTERS = (0.25, 0.5, 0.75)


def quarterly(
    minutes: Minutes, sessions: Sequence[Session], learned: Learned, site: Site
) -> tuple[tuple[Forecast, ...], ...]:
    """The forecasts at a quarter, half and three quarters of each session, as far as one could be made."""
    return tuple(
        tuple(
            said
            for share in QUARTERS
            if (said := forecast(minutes, learned, site, one.start + round(share * (one.end - one.start))))
        )
        for one in sessions
    )
