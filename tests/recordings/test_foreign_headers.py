"""Headers that sound like a stream of the plant and aren't: read as one, they would be wrong without a word.

The words are those of the trade (common practice, no source).
"""

import pytest
from tables_help import values

LEFT_ALONE = {
    "states and switches": "Generator state|Generator running|Generator on/off|Generator relay|Generator speed|"
    "Grid available|Grid lost|Battery state|Battery connected|MPPT state|Load shed|Inverter on|Charging|Laden|"
    "Charge stage|Charge state|Load priority|Batteriezustand",
    "counters without a unit": "Generator total|PV total|Grid import total|PV lifetime|Hourly consumption|"
    "Consumo diario|Production cumulée|Compteur générateur|Contador generador|Index consommation|Wirkarbeit Bezug",
    "shares": "Load percentage|Generator load [%]|Auslastung|Load %",
    "settings": "Grid power set point [W]|Battery power command [W]|Requested battery power [W]|"
    "Batterieleistung Vorgabe [W]|Grid feed-in limit|Battery power reference [W]",
    "estimates": "Solar expected [W]|Theoretical PV power [W]|PV available power [W]|PV curtailed [W]",
    "ratings": "Generator capacity [W]|PV capacity [kW]|Spare generator power [W]|Generator reserve [W]",
    "statistics": "Battery power deviation [W]|Load power std dev [W]|Battery power magnitude [W]|"
    "Potencia máxima generador [W]|Battery ripple voltage [V]",
    "other batteries": "Starter battery voltage [V]|Battery cell voltage [V]|Battery cell 3 voltage [V]|"
    "Battery midpoint voltage [V]|Sensor battery [%]|Car battery [%]|EV battery SOC [%]|Zellspannung [V]",
    "set voltages": "Battery charge voltage [V]|Battery absorption voltage [V]|Battery float voltage [V]",
    "other tanks and rooms": "Water tank level [%]|Grey tank [%]|Wassertank [%]|Battery room temperature [°C]",
    "single appliances": "Heat pump consumption [W]|Wärmepumpe Verbrauch [W]|Fridge load [W]|Kitchen load [W]|"
    "Consommation chauffe-eau [W]|Battery heater power [W]",
    "flows from one place to another": "Charge from grid [W]|PV charge power [W]|PV-Ladeleistung [W]|"
    "Generator charge power [W]|AC charge power [W]|PV surplus [W]|Generator to load [W]",
    "shares of the consumption": "Direct consumption [W]|Consommation directe [W]|Own consumption [W]|"
    "Standby consumption [W]",
    "other things that are consumed": "Diesel consumption|Water consumption|CPU usage|Network usage",
    "voltages between legs": "Generator line voltage [V]|Generator U12 [V]|Generator voltage L12 [V]|"
    "Generator L1L2 voltage [V]|Generator voltage phase-phase [V]|Generator voltage (L-L) [V]",
    "other currents and voltages": "Generator neutral current [A]|Generator current N [A]|"
    "Generator field current [A]|Generator DC voltage [V]",
    "off grid": "Off-grid power [W]",
    "unclear units": "Grid power [mw]|PV [kohm]|Generator [Nm]",
}


@pytest.mark.parametrize(("headers"), LEFT_ALONE.values(), ids=LEFT_ALONE.keys())
def test_what_only_sounds_like_a_stream_is_left_alone(read, headers):
    names = headers.split("|")
    rows = "".join(f"2026-02-14T10:00:0{row}Z;300{';1' * len(names)}\n" for row in range(4))
    recording = read(f"time;Load power [W];{';'.join(names)}\n{rows}")
    assert recording.channels == ("load_power",)
    assert recording.provenance.columns["load_power"].column == "Load power [W]"


KNOWN = [
    ("Off-grid load [W]", "load_power"),
    ("Generator set power [W]", "generator_power"),
    ("Generator voltage phase B [V]", "generator_voltage_l2"),
    ("Generator U3 [V]", "generator_voltage_l3"),
    ("Generator UL1 [V]", "generator_voltage_l1"),
    ("Generator I2 [A]", "generator_current_l2"),
    ("Generator voltage L1-N [V]", "generator_voltage_l1"),
    ("Battery temperature sensor [°C]", "battery_temperature"),
    ("Battery percentage", "battery_soc"),
    ("Charge state [%]", "battery_soc"),
    ("hut.solar.power.w", "solar_power"),
    ("PV (A) [W]", "solar_power"),
    ("Battery (A) [V]", "battery_voltage"),
]


@pytest.mark.parametrize(("header", "channel"), KNOWN)
def test_what_is_one_is_found(read, header, channel):
    rows = "".join(f"2026-02-14T10:00:0{row}Z;45;300;45\n" for row in range(4))
    recording = read(f"time;{header};Converter AC power [W];Remark\n{rows}")
    assert set(recording.channels) == {channel, "converter_ac_power"}


def test_parts_of_the_load_that_differ_by_unknown_words_are_a_question(read):
    text = "time;Essential loads [W];Non-essential loads [W]\n2026-02-14 10:00;1;2\n2026-02-14 10:01;1;2\n"
    with pytest.raises(
        Exception, match=r'both where they add up.*"Essential loads \[W\] \+ Non-essential loads'
    ):
        read(text)


def test_words_that_nobody_knows_are_told(read):
    recording = read("time;Load upstairs [W]\n2026-02-14 10:00;100\n2026-02-14 10:01;200\n")
    assert values(recording, "load_power") == [100, 200]
    assert "not understood" in recording.provenance.columns["load_power"].how
