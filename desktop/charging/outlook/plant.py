"""The plant as the outlook reckons with it: battery, converter, generator. Energies Wh, powers W."""

from __future__ import annotations

from dataclasses import dataclass

from desktop.charging.fuel.curve import FuelCurve
from recordings.errors import UsageError


@dataclass(frozen=True, slots=True)
class Storage:
    """A battery by what its terminals give and take.

    capacity_wh      what it gives from 100 to 0 %
    reserve_soc      the inverter is off below it, %
    charge_w         the most that it takes, W
    efficiency       the share of what goes in that comes out again
    efficiency_full  the same where it is nearly full; between the two it falls from `taper_soc` to 100 %
    taper_soc        from there it takes less and less, in proportion to what is missing
    least_share      of `charge_w`, taken up to the very end
    capacity_sd, efficiency_sd  how well both are known: one standard deviation, of the capacity as a share of it
    """

    capacity_wh: float
    reserve_soc: float
    charge_w: float
    efficiency: float = 0.95
    efficiency_full: float = 0.95
    taper_soc: float = 95.0
    least_share: float = 0.06
    capacity_sd: float = 0.0
    efficiency_sd: float = 0.0


@dataclass(frozen=True, slots=True)
class ConverterFacts:
    """An inverter-charger whose loss is idle_w + slope · power on the side that feeds it.

    inverter_w      the most that it gives to the house, W
    charger_ac_w    the most that it takes from the AC bus, W
    charger_dc_w    the most that it gives to the DC bus, W
    idle_sd_w, slope_sd  how well the law is known beyond what the load has taken in, one standard deviation
    """

    idle_w: float
    slope: float
    inverter_w: float = float("inf")
    charger_ac_w: float = float("inf")
    charger_dc_w: float = float("inf")
    idle_sd_w: float = 0.0
    slope_sd: float = 0.0

    @property
    def standby_w(self) -> float:
        """What it draws from an AC source that it doesn't charge from, W."""
        return self.idle_w / (1 - self.slope)


@dataclass(frozen=True, slots=True)
class GeneratorFacts:
    """A set with its fuel.

    rated_w     real power that it can carry where it stands, W
    curve       what it burns
    w_per_a     real power that one ampere of the input limit lets through, W
    unloaded_s  how long it runs without load at each start and stop (warming up, cooling down), s
    store       fuel at hand, in the curve's unit; inf where it isn't bounded or not known
    tank        what the tank holds; inf where not known
    uneven      by so much of the load the busiest leg takes more off the input limit than its even share
    """

    rated_w: float
    curve: FuelCurve
    w_per_a: float
    unloaded_s: float = 180.0
    store: float = float("inf")
    tank: float = float("inf")
    uneven: float = 0.0


@dataclass(frozen=True, slots=True)
class PlantFacts:
    """The whole plant. UsageError where its numbers can't belong to a plant."""

    battery: Storage
    converter: ConverterFacts
    generator: GeneratorFacts

    def __post_init__(self) -> None:
        standby = self.converter.standby_w
        if not self.generator.rated_w > 2 * standby:
            raise UsageError(
                "the generator is too small for this inverter-charger",
                expected=f"a rating above {2 * standby:.0f} W",
                found=f"{self.generator.rated_w:.0f} W",
                mend="check generator.rated_w in the site sheet",
            )
