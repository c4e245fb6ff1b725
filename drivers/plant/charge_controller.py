"""The charge controller: how much the charger takes from the AC input, and how quickly it gives way."""

from __future__ import annotations

from drivers.plant.scenario_parts import Charger


class ChargeController:
    """Follows the input limit with a delay, as real ones do: they look at filtered currents.

    `ac_w` is what the charger takes at present. Its own limits (rating, DC amperes, battery) hold at once;
    what the house leaves of the input limit it follows late: only after `back_off_s` over the limit it ramps
    down. So a load step overshoots the limit for some seconds.
    """

    __slots__ = ("_backing_off", "_numbers", "_over_s", "ac_w")

    def __init__(self, numbers: Charger) -> None:
        self._numbers = numbers
        self.ac_w = 0.0
        self._over_s = 0.0
        self._backing_off = False

    def follow(
        self, room_w: float, most_w: float, dt: float, *, least_w: float = 0.0, slack_w: float = 0.0
    ) -> float:
        """Go on for `dt` seconds, and give the AC power taken, W.

        room_w   what the input limit leaves, margin taken off; negative where the house alone exceeds it
        most_w   what charger, battery and solar allow
        least_w  how far below 0 it may go to help the house out; 0 without assistance
        slack_w  the margin: as long as the input stays within it, charging is trimmed gently and at once
        """
        numbers = self._numbers
        wanted = max(room_w, least_w)
        if self.ac_w <= wanted:
            self._over_s, self._backing_off = 0.0, False
            self.ac_w = min(wanted, self.ac_w + numbers.ramp_up_w_s * dt)
        elif self._backing_off or self.ac_w > wanted + slack_w:
            self._give_way(wanted, dt)
        else:
            self._over_s = 0.0
            self.ac_w = max(wanted, self.ac_w - numbers.ramp_up_w_s * dt)
        self.ac_w = max(least_w, min(self.ac_w, most_w))
        return self.ac_w

    def _give_way(self, wanted: float, dt: float) -> None:
        self._over_s += dt
        if self._over_s > self._numbers.back_off_s:
            self._backing_off = True
            self.ac_w = max(wanted, self.ac_w - self._numbers.ramp_down_w_s * dt)

    def wind_down(self, dt: float) -> float:
        """Ramp to nothing, and give the AC power still taken, W."""
        down = self._numbers.ramp_down_w_s * dt
        self.ac_w = max(0.0, self.ac_w - down) if self.ac_w > 0.0 else min(0.0, self.ac_w + down)
        return self.ac_w

    def drop(self) -> None:
        """The source is gone."""
        self.ac_w, self._over_s, self._backing_off = 0.0, 0.0, False
