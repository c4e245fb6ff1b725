"""The sections of a scenario that describe the parts of a plant: each part's own numbers, SI units."""

from __future__ import annotations

from datetime import time
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from recordings.sheets import NotNegative, Number, Percent, Positive, Section

Chemistry = Literal["lfp", "nmc", "flooded", "agm", "gel"]
Fuel = Literal["diesel", "gasoline", "propane", "natural gas"]

Share = Annotated[Number, Field(ge=0, le=1)]


class Generator(Section):
    """A set. `volts` leg to neutral; `droop` and `voltage_drop` as shares from no load to full load.

    no_load_hz   speed setting; without it nominal frequency is reached at full load
    capability   what the engine can give at most, as a share of the rating
    trip_s       time multiplier of the breaker's inverse curve
    cold_dip     by what share a cold engine runs slower at first; it fades over `warm_up_s`
    """

    rated_w: Positive
    volts: Positive = 230.0
    hz: Positive = 50.0
    droop: Annotated[Number, Field(gt=0, le=0.2)] = 0.03
    no_load_hz: Positive | None = None
    voltage_drop: Share = 0.02
    capability: Positive = 1.12
    trip_s: Positive = 0.2
    crank_s: NotNegative = 4.0
    warm_up_s: Positive = 90.0
    cold_dip: Share = 0.015
    cool_down_s: NotNegative = 120.0
    fuel: Fuel = "diesel"
    fuel_half_load: Positive
    fuel_full_load: Positive
    tank: Positive = 40.0
    tank_percent: Percent = 80.0


class Grid(Section):
    """A utility. `live` says whether it is there at the start."""

    volts: Positive = 230.0
    hz: Positive = 50.0
    live: bool = True
    export: bool = False


class Solar(Section):
    """An array facing `azimuth` (degrees from north, clockwise) at a tilt, and the clouds above it.

    cover       share of time that a cloud is before the sun
    passing_s   how long one stays on average
    through     least and most share of the light that comes through one
    """

    rated_w: Positive
    coupling: Literal["dc", "ac"] = "dc"
    tilt: Annotated[Number, Field(ge=0, le=90)] = 35.0
    azimuth: Annotated[Number, Field(ge=0, lt=360)] = 180.0
    efficiency: Share = 0.88
    cover: Share = 0.0
    passing_s: Positive = 240.0
    through: tuple[Share, Share] = (0.2, 0.5)


class Input(Section):
    """The AC input of the inverter-charger. `accept_s`: how long a source must be good before it is taken."""

    limit_a: Positive = 30.0
    accept_s: NotNegative = 20.0


class Charger(Section):
    """`limit_a` DC, `rated_w` AC.

    back_off_s   how long the input may lie over its limit before charging is cut back
    margin_a     how far below the input limit it aims
    ramp_up_w_s, ramp_down_w_s   how quickly it follows, W/s
    assist       the battery helps out where the house alone exceeds the input limit
    """

    limit_a: Positive = 60.0
    rated_w: Positive = 4000.0
    enabled: bool = True
    back_off_s: NotNegative = 1.0
    margin_a: NotNegative = 0.4
    ramp_up_w_s: Positive = 150.0
    ramp_down_w_s: Positive = 800.0
    assist: bool = False


class Inverter(Section):
    """Conversion loss = idle_w + slope · power on the feeding side, in both directions.

    surge      how far above its rating it carries for some seconds
    cut_off_v  battery voltage below which it stops, per volt nominal
    """

    rated_w: Positive = 5000.0
    idle_w: NotNegative = 40.0
    slope: Annotated[Number, Field(ge=0, lt=0.5)] = 0.06
    surge: Positive = 2.0
    cut_off_v: Share = 0.86


class Battery(Section):
    """A bank. Voltages are of the whole bank at 25 °C; what is left out follows from the chemistry.

    resistance_ohm  ohmic part; without it the chemistry's usual one
    slow_ohm, slow_s   the slow part (diffusion) and its time constant
    tail_a          current at which absorption ends
    air_c           temperature of the room
    """

    chemistry: Chemistry = "lfp"
    capacity_kwh: Positive
    nominal_v: Positive = 51.2
    soc: Percent = 50.0
    resistance_ohm: Positive | None = None
    max_charge_a: Positive | None = None
    absorb_v: Positive | None = None
    float_v: Positive | None = None
    tail_a: Positive | None = None
    absorb_minutes: Positive | None = None
    mv_per_cell_c: Number | None = None
    air_c: Annotated[Number, Field(ge=-40, le=60)] = 20.0
    reserve_soc: Percent = 20.0
    target_soc: Percent = 80.0


class House(Section):
    """The AC side of the house. `flicker` is how much what always runs wanders, as a share.

    base_w     what always runs, per leg; a single number is shared by all legs
    resistive  the share of the load that falls with the square of the voltage
    """

    legs: Literal[1, 2, 3] = 1
    base_w: tuple[NotNegative, ...] = (200.0,)
    flicker: Share = 0.05
    resistive: Share = 0.5


class DcLoads(Section):
    base_w: NotNegative = 60.0
    flicker: Share = 0.08


class Appliance(Section):
    """Something that is switched on. `leg` 0 sits across all legs.

    inrush    its power during the first `inrush_s`, in multiples of `watts`
    profile   what a run is made of, [seconds, share of watts]; without it `watts` throughout
    """

    name: str
    watts: Positive
    leg: Annotated[int, Field(ge=0, le=3)] = 1
    inrush: Annotated[Number, Field(ge=1)] = 1.0
    inrush_s: NotNegative = 0.5
    profile: tuple[tuple[Positive, NotNegative], ...] = ()


class Cyclic(Appliance):
    """Runs and rests by turns, such as a fridge; both vary by `spread`."""

    on_s: Positive
    off_s: Positive
    spread: Share = 0.2


class Scheduled(Appliance):
    """Runs at these local times, every day or only on the days named."""

    at: tuple[time, ...]
    run_s: Positive = 600.0
    days: tuple[int, ...] = ()


class Random(Appliance):
    """Runs now and then, such as a kettle, between two local times of day."""

    per_day: Positive
    run_s: Positive
    spread: Share = 0.3
    since: time = time(0, 0)
    until: time = time(23, 59, 59)

    @model_validator(mode="after")
    def _has_a_time(self) -> Self:
        if self.since >= self.until:
            raise ValueError("a since that is earlier than until")
        return self


class Auto(Section):
    """What starts and stops the generator without a hand. `until` the set isn't started after."""

    start_soc: Percent | None = None
    stop_soc: Percent | None = None
    since: time = time(0, 0)
    until: time = time(23, 59, 59)
    grid_lost_s: NotNegative | None = None
    grid_back_s: NotNegative = 60.0
