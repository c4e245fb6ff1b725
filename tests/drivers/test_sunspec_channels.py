"""SunSpec devices as channels: by role, with the right signs, and marked where something is only guessed."""

import itertools
import math

import pytest
from modbus_servers import Plant, served
from sunspec_images import battery, chain, common, inverter, meter, model, solar_ports

from drivers.modbus.address import parse_address
from drivers.modbus.link import Link
from drivers.modbus.reading import UnitReader
from drivers.sunspec.charge_state import ChargeSign, Flow
from drivers.sunspec.device import Neighbourhood, SunSpecDevice
from drivers.sunspec.roles import guess_roles
from recordings.errors import SourceError

DISCHARGING, CHARGING, FULL, HOLDING = 3, 4, 5, 6


def read(image, role=None, rounds=4, sign=None, neighbourhood=None):
    """(readings after some rounds, the device)"""
    with served(Plant({1: {40000: image}})) as plant:
        link = Link(parse_address(f"modbus-tcp://127.0.0.1:{plant.port}"))
        link.open()
        try:
            device = SunSpecDevice(1.0, role, sign, neighbourhood)
            reader = UnitReader(link, 1, timeout_s=0.5)
            device.prepare(reader)
            for _ in range(rounds):
                values = dict(device.poll(reader).values)
            return {name: value for name, value in values.items() if not math.isnan(value)}, device
        finally:
            link.close()


def test_a_generator_on_a_meter_of_three_legs():
    image = chain(
        common(),
        meter(203, PhVphA=2301, PhVphB=2290, PhVphC=2310, PhV=2300, AphA=81, AphB=75, AphC=70),
    )
    values, device = read(image, "generator")
    assert values == {
        "generator_power": 5200,
        "generator_frequency": 49.87,
        "generator_voltage": 230.0,
        "generator_voltage_l1": 230.1,
        "generator_voltage_l2": 229.0,
        "generator_voltage_l3": 231.0,
        "generator_current_l1": 8.1,
        "generator_current_l2": 7.5,
        "generator_current_l3": 7.0,
    }
    assert device.role == "generator"


def test_a_generator_on_a_meter_of_one_leg_has_no_legs():
    values, _ = read(chain(common(), meter(201, PhVphA=2301, AphA=81)), "generator")
    assert values == {
        "generator_power": 5200,
        "generator_frequency": 49.87,
        "generator_voltage": 230.1,
        "generator_current": 8.1,
    }


def test_a_split_phase_meter_has_two_legs():
    values, _ = read(chain(common(), meter(202, PhVphA=1201, PhVphB=1199, PhVphC=1, AphC=9)), "generator")
    assert {"generator_voltage_l1", "generator_voltage_l2"} <= values.keys()
    assert "generator_voltage_l3" not in values
    assert "generator_current_l3" not in values


def test_power_by_legs_where_the_total_is_not_implemented():
    image = chain(common(), meter(203, W=None, WphA=1000, WphB=900, WphC=800))
    assert read(image, "load")[0] == {"load_power": 2700}


@pytest.mark.parametrize("number", [201, 202, 203, 204])
def test_meters_of_whole_numbers(number):
    assert read(chain(common(), meter(number)), "grid")[0] == {"grid_power": 5200}


@pytest.mark.parametrize("number", [211, 212, 213, 214])
def test_meters_of_floats(number):
    assert read(chain(common(), model(number, {"W": 5200.5})), "load")[0] == {"load_power": 5200.5}


@pytest.mark.parametrize("number", [101, 102, 103])
def test_an_inverter_that_generates_takes_nothing_from_the_ac_bus(number):
    values, _ = read(chain(common(), inverter(number, 4523, 4700)), "converter")
    assert values == {"converter_ac_power": -4523, "converter_dc_power": -4700}


@pytest.mark.parametrize("number", [111, 112, 113])
def test_inverters_of_floats(number):
    image = chain(common(), model(number, {"W": -3000.0, "DCW": -2800.0}))
    assert read(image, "converter")[0] == {"converter_ac_power": 3000, "converter_dc_power": 2800}


def test_model_701_is_positive_when_it_generates():
    # Said by the definition of model 701 in pysunspec2 1.3.7.
    assert read(chain(common(), model(701, {"W": -300, "W_SF": 1})), "converter")[0] == {
        "converter_ac_power": 3000
    }


def test_a_solar_inverter_is_counted_once():
    image = chain(common(), inverter(103, 4523, 4700), solar_ports(2400, 2300))
    values, device = read(image)
    assert values == {"solar_ac_power": 4523}
    assert device.guess.role == "solar"


def test_a_charge_controller_adds_up_its_inputs():
    values, device = read(chain(common(), solar_ports(1200, 800)))
    assert values == {"solar_power": 2000}
    assert device.guess.role == "solar"


def test_a_solar_input_that_nobody_uses_hides_nothing():
    assert read(chain(common(), solar_ports(1200, None)))[0] == {"solar_power": 1200}


def test_a_solar_power_that_is_not_implemented_is_worked_out_of_voltage_and_current():
    ports = [{"DCV": 1500, "DCA": 80}, {"DCV": 1400, "DCA": 70}]
    image = chain(common(), model(160, {"DCV_SF": -1, "DCA_SF": -1, "N": 2}, module=ports))
    assert read(image)[0]["solar_power"] == pytest.approx(150 * 8 + 140 * 7)


def test_an_input_that_is_named_after_a_battery_is_no_sun():
    image = chain(common(), solar_ports(1200, 700, names=("String 1", "Battery charge")))
    assert read(image)[0] == {"solar_power": 1200}


def test_ports_of_model_714_go_by_their_type():
    photovoltaic, storage = 0, 1
    ports = [
        {"PrtTyp": photovoltaic, "ID": 1, "IDStr": "a", "DCA": 80, "DCV": 1500, "DCW": 1200},
        {"PrtTyp": storage, "ID": 2, "IDStr": "b", "DCA": 200, "DCV": 530, "DCW": 1060},
    ]
    image = chain(common(), model(714, {"NPrt": 2, "DCA_SF": -1, "DCV_SF": -1, "DCW_SF": 0}, Prt=ports))
    assert read(image)[0] == {
        "solar_power": 1200,
        # Assumed: positive out of the port, so out of the battery.
        "battery_voltage": 53.0,
        "battery_current": -20.0,
        "battery_power": -1060,
    }


def test_a_hybrid_inverter_tells_all_its_parts():
    image = chain(common(), inverter(103, 4523, 4700), solar_ports(1200, 800), battery(-453, CHARGING))
    values, device = read(image)
    assert values == {
        "converter_ac_power": -4523,
        "solar_power": 2000,
        "battery_voltage": 53.12,
        "battery_current": pytest.approx(45.3),
        "battery_power": 2406,
        "battery_soc": 87.3,
    }
    assert device.guess.role == "converter"


def test_the_temperature_of_a_lithium_bank():
    image = chain(common(), battery(), model(803, {"NStr": 0, "ModTmpAvg": 215, "ModTmp_SF": -1}))
    assert read(image)[0]["battery_temperature"] == 21.5


def test_the_state_of_charge_of_a_storage_model():
    assert read(chain(common(), model(713, {"SoC": 850, "Pct_SF": -1})))[0] == {"battery_soc": 85.0}


@pytest.mark.parametrize(
    ("amperes", "state", "into"),
    [(-453, CHARGING, 45.3), (453, CHARGING, 45.3), (-453, DISCHARGING, -45.3), (453, DISCHARGING, -45.3)],
)
def test_the_charge_state_tells_which_way_a_battery_counts(amperes, state, into):
    values, device = read(chain(common(), battery(amperes, state)))
    assert values["battery_current"] == pytest.approx(into)
    assert math.copysign(1, values["battery_power"]) == math.copysign(1, into)
    assert device.signs == "charge state"


def test_before_the_charge_state_has_told_the_direction_is_not_known():
    values, device = read(chain(common(), battery(-453, CHARGING)), rounds=1)
    assert "battery_current" not in values
    assert "battery_power" not in values
    assert values["battery_voltage"] == 53.12
    assert device.signs == "assumed"


def test_a_full_battery_that_nothing_flows_into_has_no_direction_to_settle():
    assert read(chain(common(), battery(0, FULL)))[0]["battery_current"] == 0.0


def test_a_battery_that_tells_no_current_is_settled_by_its_power():
    image = chain(common(), model(802, {"W": -450, "W_SF": 0, "ChaSt": DISCHARGING}))
    values, device = read(image)
    assert values == {"battery_power": -450}
    assert device.signs == "charge state"


@pytest.mark.parametrize(
    ("flow", "counts", "positive"),
    [
        (Flow(), False, False),
        (Flow(0.4, 20.0), False, True),
        (Flow(-0.6, 30.0), True, False),
        (Flow(math.nan, 30.0), True, True),
    ],
)
def test_only_what_flows_for_certain_has_a_direction(flow, counts, positive):
    assert (flow.counts, flow.positive) == (counts, positive)


@pytest.mark.parametrize(("sign", "into"), [(1, -45.3), (-1, 45.3)])
def test_a_sign_that_the_user_gives_goes_before_the_charge_state(sign, into):
    values, device = read(chain(common(), battery(-453, CHARGING)), sign=sign)
    assert values["battery_current"] == pytest.approx(into)
    assert device.signs == "given"


def test_a_sign_turns_a_meter_round():
    values, _ = read(chain(common(), meter(201, AphA=81)), "generator", sign=-1)
    assert (values["generator_power"], values["generator_current"]) == (-5200, -8.1)
    assert values["generator_frequency"] == 49.87


def test_a_lagging_charge_state_is_overruled():
    settling = ChargeSign(-1)
    for _ in range(3):
        settling.hear(CHARGING, Flow(20.0))
    assert settling.sign(Flow(20.0)) == 1.0
    for _ in range(9):
        settling.hear(DISCHARGING, Flow(20.0))
    assert settling.sign(Flow(20.0)) == -1.0


def test_a_battery_without_charge_state_counts_as_assumed():
    settling = ChargeSign(-1)
    settling.hear(None, Flow(20.0))
    assert settling.sign(Flow(20.0)) == -1.0
    assert not settling.settled


def test_a_heartbeat_that_stops_makes_the_battery_unknown():
    clock = itertools.count()
    with served(Plant({1: {40000: chain(common(), battery(), inverter())}})) as plant:
        link = Link(parse_address(f"modbus-tcp://127.0.0.1:{plant.port}"))
        link.open()
        device, reader = SunSpecDevice(0.0001), UnitReader(link, 1)
        device.prepare(reader)
        address = next(iter(device.chain.all_of(802))).address
        heartbeat = address + device.chain.all_of(802)[0].layout.point("Hb").offset
        for _ in range(5):
            plant.set(1, heartbeat, next(clock))
            assert "battery_voltage" in device.poll(reader).values
        for _ in range(200):
            reading = device.poll(reader)
            if "battery_voltage" not in reading.values:
                break
        assert "battery_voltage" not in reading.values
        assert "converter_ac_power" in reading.values
        assert "clock stands still" in " ".join(reading.faults)
        link.close()


def test_the_devices_own_clock_counts_from_the_year_2000():
    ports = [{"DCW": 100, "Tms": 86400}]
    image = chain(common(), model(160, {"DCW_SF": 0, "N": 1}, module=ports))
    with served(Plant({1: {40000: image}})) as plant:
        link = Link(parse_address(f"modbus-tcp://127.0.0.1:{plant.port}"))
        link.open()
        device, reader = SunSpecDevice(), UnitReader(link, 1)
        device.prepare(reader)
        assert device.poll(reader).device_time == 946_771_200 * 10**9
        link.close()


def test_a_value_beyond_what_a_small_plant_can_show_is_none():
    assert read(chain(common(), meter(201, W=5200, W_SF=3)), "load")[0] == {}


def test_a_meter_without_a_role_asks_for_one():
    with pytest.raises(SourceError) as asked:
        read(chain(common(), meter()))
    assert "&role=generator, grid or load" in str(asked.value)
    assert "unit 1" in str(asked.value)


def test_a_device_without_readings_is_refused():
    with pytest.raises(SourceError, match="none of the device's models tells a reading"):
        read(chain(common()))


def test_a_device_without_a_chain_is_refused():
    with pytest.raises(SourceError, match="register map"):
        read([1, 2, 3])


@pytest.mark.parametrize(
    ("devices", "roles"),
    [
        ([{1, 103, 802}], ["converter"]),
        ([{1, 103, 160}], ["solar"]),
        ([{1, 103}], ["solar"]),
        ([{1, 160}], ["solar"]),
        ([{1, 802, 803}], ["battery"]),
        ([{1, 203}], [None]),
        ([{1, 103}, {1, 802}], ["converter", "battery"]),
        ([{1, 103}, {1, 103, 802}], ["solar", "converter"]),
        ([{1, 103}, {1, 103, 160}, {1, 802}], ["converter", "solar", "battery"]),
        ([{1, 103}, {1, 103}, {1, 802}], [None, None, "battery"]),
        ([{1, 701, 713}, {1, 213}], ["converter", None]),
        ([{1}], [None]),
    ],
)
def test_roles_are_guessed_by_what_else_is_there(devices, roles):
    guesses = guess_roles(devices)
    assert [guess.role for guess in guesses] == roles
    assert all(guess.why for guess in guesses)


def test_a_guess_changes_when_another_device_is_found():
    neighbourhood = Neighbourhood()
    values, first = read(chain(common(), inverter()), neighbourhood=neighbourhood)
    assert "solar_ac_power" in values
    read(chain(common(), battery()), neighbourhood=neighbourhood)
    assert first.guess.role == "converter"
