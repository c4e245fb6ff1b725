"""The plant: all parts together, one step at a time."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

from drivers.plant.attendant import Attendant
from drivers.plant.bank import bank, charge_settings
from drivers.plant.charge_controller import ChargeController
from drivers.plant.charge_stages import ChargeStages
from drivers.plant.clock import Clock
from drivers.plant.flows import Demand, Flows, dark, inverting, on_source
from drivers.plant.generator import Generator
from drivers.plant.house import dc_loads, house
from drivers.plant.inverter import Inverter
from drivers.plant.scenario import Scenario
from drivers.plant.solar import Solar
from drivers.plant.transfer import Transfer
from drivers.plant.truth import Truth, truth_of

COARSE_S = 1.0
FINE_S = 0.25


@dataclass(frozen=True, slots=True)
class Event:
    """Something that really happened. `time` UTC nanoseconds; `value` and `what` as the kind has it."""

    time: int
    kind: str
    value: float
    what: str


class Plant:
    """An invented plant that runs. Deterministic by scenario and seed.

    now      seconds since the scenario's start
    flows    what flows at present
    events   what has happened so far
    """

    def __init__(self, scenario: Scenario, seed: int | None = None) -> None:
        self.scenario = scenario
        self.seed = scenario.seed if seed is None else seed
        self.clock = Clock(scenario.place.start, scenario.place.timezone)
        self.now = 0.0
        self.events: list[Event] = []
        self.input_limit_a = scenario.input.limit_a
        self.charge_limit_a = scenario.charger.limit_a
        self.charger_enabled = scenario.charger.enabled
        self.grid_live = scenario.grid is not None and scenario.grid.live
        self.battery = bank(scenario.battery)
        self.stages = ChargeStages(charge_settings(scenario.battery))
        self.inverter = Inverter(scenario.inverter, scenario.battery.nominal_v, self.tell)
        self.controller = ChargeController(scenario.charger)
        self.transfer = Transfer(scenario.input.accept_s)
        self.loads = house(scenario, self.clock, self.seed, self.tell)
        self.dc_loads = dc_loads(scenario, self.seed, self.tell)
        self._attendant = Attendant(scenario, self.clock)
        self._stopping = False
        self._on_grid = False
        self._build()
        dc_load = self.dc_loads.legs[0] if self.dc_loads is not None else 0.0
        sun = self.solar.available if self.solar is not None else 0.0
        self._last = self._demand(self.loads.legs, dc_load, sun)
        self.flows = inverting(self._last, self.inverter, scenario.inverter.rated_w)
        self.battery.take(self.flows.battery, 0.0)

    def _build(self) -> None:
        scenario = self.scenario
        place, noise = scenario.place, self._noise
        self.generator: Generator | None = None
        if scenario.generator is not None:
            self.generator = Generator(scenario.generator, scenario.legs, noise("generator"), self.tell)
        self.solar: Solar | None = None
        if scenario.solar is not None:
            self.solar = Solar(scenario.solar, self.clock, place.latitude, place.longitude, noise("clouds"))
        self._dc_coupled = scenario.solar is None or scenario.solar.coupling == "dc"
        self._export = scenario.grid is not None and scenario.grid.export
        if scenario.generator is not None:
            self._volts = scenario.generator.volts
        else:
            self._volts = scenario.grid.volts if scenario.grid is not None else 230.0

    def _noise(self, name: str) -> random.Random:
        return random.Random(f"{self.seed} {name}")

    @property
    def time(self) -> int:
        """Now, UTC nanoseconds."""
        return self.clock.start_ns + round(self.now * 1e9)

    @property
    def generator_turning(self) -> bool:
        """True while the generator isn't at rest."""
        return self.generator is not None and self.generator.turning

    @property
    def step_s(self) -> float:
        """The longest step that does the plant justice at present, s."""
        return FINE_S if self.generator_turning else COARSE_S

    def tell(self, kind: str, value: float, what: str) -> None:
        """Note an event."""
        self.events.append(Event(self.time, kind, value, what))

    def start_generator(self) -> None:
        """Crank the set."""
        if self.generator is not None:
            self._stopping = False
            self.generator.start()

    def stop_generator(self) -> None:
        """Take the load off, let it cool down, and stop it."""
        self._stopping = True

    def kill_generator(self) -> None:
        """Switch the set off as it is, under load or not."""
        if self.generator is not None:
            self.generator.kill()

    def step(self, dt: float) -> Truth:
        """Go on for `dt` seconds, and give every true value at the end of them."""
        self.now += dt
        self._attendant.act(self, self.now)
        self._connect(dt)
        demand = self._last = self._demand_now(dt)
        flows = self.flows = self._flow(demand, dt)
        if self.generator is not None:
            self._drive(self.generator, flows, dt)
        self.battery.take(flows.battery, dt)
        self._follow_stages(dt)
        return truth_of(self, flows, demand)

    def _connect(self, dt: float) -> None:
        transfer, generator = self.transfer, self.generator
        was = transfer.closed
        if not was:
            self._on_grid = self.grid_live or generator is None
        if self._on_grid:
            here = 1.0 if self.grid_live else 0.0
            transfer.held_open = False
            transfer.watch(here, here, dt)
        elif generator is not None:
            transfer.held_open = self._stopping and (
                not was or self.controller.ac_w <= self.inverter.standby_w + 1.0
            )
            here = 1.0 if generator.live else 0.0
            numbers = generator.numbers
            transfer.watch(
                here * generator.frequency / numbers.hz, here * generator.voltage / numbers.volts, dt
            )
        if transfer.closed != was:
            self._switched(transfer.closed)
        if self._stopping and generator is not None and (self._on_grid or not transfer.closed):
            self._stopping = False
            generator.let_down()

    def _switched(self, closed: bool) -> None:
        source = "grid" if self._on_grid else "generator"
        if closed:
            self.tell("transfer_on", self.flows.load, source)
            self.inverter.resume()
            self.stages.begin()
        else:
            self.tell("transfer_off", sum(self.flows.source), source)
        self.controller.drop()

    @property
    def on_generator(self) -> bool:
        """True while the generator carries the house."""
        return self.transfer.closed and not self._on_grid

    @property
    def on_grid(self) -> bool:
        """True while the grid carries the house."""
        return self.transfer.closed and self._on_grid

    def _demand_now(self, dt: float) -> Demand:
        legs: Sequence[float] = self.loads.advance(self.now)
        dc_load = self.dc_loads.advance(self.now)[0] if self.dc_loads is not None else 0.0
        sun = self.solar.shine(self.now, dt) if self.solar is not None else 0.0
        if self.on_generator and self.generator is not None:
            resistive = self.scenario.house.resistive
            volts = self.generator.voltage / self._volts
            sag = 1.0 - resistive + resistive * volts * volts
            legs = [watts * sag for watts in legs]
        return self._demand(legs, dc_load, sun)

    def _demand(self, legs: Sequence[float], dc_load: float, sun: float) -> Demand:
        battery, stages = self.battery, self.stages
        most = battery.most_in(
            stages.limit_v(battery.temperature), stages.limit_a(battery.soc, battery.temperature)
        )
        if self._dc_coupled:
            return Demand(legs, dc_load, sun, 0.0, most)
        return Demand(legs, dc_load, 0.0, sun, most)

    def _flow(self, demand: Demand, dt: float) -> Flows:
        if self.transfer.closed:
            return on_source(
                demand, self._charge(demand, dt), self.inverter, export=self.on_grid and self._export
            )
        inverter, rated = self.inverter, self.scenario.inverter.rated_w
        wanted = sum(demand.legs) - demand.sun_ac
        inverter.watch(wanted, self.battery.v, self.battery.soc, dt)
        if inverter.serving:
            flows = inverting(demand, inverter, rated)
            if flows.battery >= -self.battery.most_out():
                return flows
            inverter.give_up("inverter_overload", wanted)
        return dark(demand)

    def _charge(self, demand: Demand, dt: float) -> float:
        """The AC power that the converter takes from a source, W."""
        inverter, numbers = self.inverter, self.scenario.charger
        standby = inverter.standby_w
        if self._stopping and not self._on_grid:
            return max(standby, self.controller.wind_down(dt))
        dc_most = min(
            demand.battery_most + demand.dc_load - demand.sun_dc, self.charge_limit_a * self.battery.v
        )
        most = (
            min(numbers.rated_w, inverter.ac_of(dc_most))
            if self.charger_enabled and dc_most > 0.0
            else standby
        )
        volts = self.generator.voltage if self.on_generator and self.generator is not None else self._volts
        count = len(demand.legs)
        free = (self.input_limit_a - numbers.margin_a) * volts - max(demand.legs)
        helps = numbers.assist and self.battery.soc > 5.0
        least = -min(self.scenario.inverter.rated_w, min(demand.legs) * count) if helps else 0.0
        taken = self.controller.follow(
            free * count + demand.sun_ac,
            most,
            dt,
            least_w=least,
            slack_w=numbers.margin_a * volts * count,
        )
        return taken if taken < 0.0 else max(standby, taken)

    def _drive(self, generator: Generator, flows: Flows, dt: float) -> None:
        if not generator.turning:
            generator.cool_engine(dt)
        elif self.on_generator:
            worst = max(flows.source) / max(generator.voltage, 0.2 * self._volts)
            generator.run(sum(flows.source), worst, dt)
        else:
            generator.run(0.0, 0.0, dt)

    def _follow_stages(self, dt: float) -> None:
        battery, stages = self.battery, self.stages
        before = stages.stage
        if stages.follow(battery.v, battery.i, stages.limit_v(battery.temperature), dt) != before:
            self.tell("stage", battery.v, stages.stage)

    def truth(self) -> Truth:
        """Every true value at present."""
        return truth_of(self, self.flows, self._last)
