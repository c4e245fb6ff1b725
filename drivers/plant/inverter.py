"""The inverter-charger's power stage: what conversion loses, and when it gives up inverting."""

from __future__ import annotations

from collections.abc import Callable

from drivers.plant.scenario_parts import Inverter as Numbers

Told = Callable[[str, float, str], None]

_OVERLOAD_S = 10.0
_SURGE_S = 0.5
_LOW_S = 5.0
_REST_S = 30.0
_RESTART_SHARE = 0.98
_EMPTY_SOC = 0.5


class Inverter:
    """Losses are `idle_w` plus `slope` of the power on the side that feeds it, in both directions."""

    __slots__ = (
        "_cut_off_v",
        "_idle",
        "_keep",
        "_low_s",
        "_numbers",
        "_off_s",
        "_over_s",
        "_restart_v",
        "_tell",
    )

    def __init__(self, numbers: Numbers, nominal_v: float, tell: Told) -> None:
        self._numbers = numbers
        self._idle, self._keep = numbers.idle_w, 1.0 - numbers.slope
        self._cut_off_v = numbers.cut_off_v * nominal_v
        self._restart_v = _RESTART_SHARE * nominal_v
        self._tell = tell
        self._over_s = self._low_s = 0.0
        self._off_s = -1.0

    @property
    def serving(self) -> bool:
        """False while it has given up: the house is dark unless a source carries it."""
        return self._off_s < 0.0

    @property
    def standby_w(self) -> float:
        """What it draws from an AC source that it doesn't charge from, W."""
        return self._idle / self._keep

    def dc_of(self, ac_w: float) -> float:
        """What comes out on the DC side of what goes in on the AC side, W; both negative while inverting."""
        if ac_w >= 0.0:
            return ac_w * self._keep - self._idle
        return (ac_w - self._idle) / self._keep

    def ac_of(self, dc_w: float) -> float:
        """What must go in on the AC side for this to come out on the DC side while charging, W."""
        return (dc_w + self._idle) / self._keep

    def watch(self, out_w: float, battery_v: float, soc: float, dt: float) -> None:
        """Invert `out_w` for `dt` seconds from a battery at this voltage; gives up where that can't go on."""
        rated = self._numbers.rated_w
        if self.serving:
            self._over_s = self._over_s + dt if out_w > rated else 0.0
            self._low_s = self._low_s + dt if battery_v < self._cut_off_v or soc < _EMPTY_SOC else 0.0
            surge = out_w > rated * self._numbers.surge and self._over_s > _SURGE_S
            if surge or self._over_s > _OVERLOAD_S:
                self.give_up("inverter_overload", out_w)
            elif self._low_s > _LOW_S:
                self.give_up("battery_empty", battery_v)
            return
        self._off_s += dt
        if self._off_s > _REST_S and battery_v > self._restart_v and soc > 2.0 * _EMPTY_SOC:
            self.resume()

    def give_up(self, why: str, value: float) -> None:
        """Stop inverting."""
        self._off_s = 0.0
        self._tell(why, value, "")

    def resume(self) -> None:
        """Serve again."""
        if not self.serving:
            self._off_s, self._over_s, self._low_s = -1.0, 0.0, 0.0
            self._tell("inverter_back", 0.0, "")
