"""Headers of many makes and four languages: which channel, which unit, which sign, and by what evidence.

The words are those of the trade (common practice, no source).
"""

import pytest
from tables_help import values

from recordings.tables import ColumnRule


def table(*headers: str, rows: tuple[str, ...] = ("100", "200")) -> str:
    lines = [";".join(["time", *headers])]
    lines += [
        ";".join([f"2026-02-14T10:00:0{place}Z", *[row] * len(headers)]) for place, row in enumerate(rows)
    ]
    return "\n".join(lines) + "\n"


MEANINGS = [
    # English
    ("Generator power [W]", "generator_power", 1),
    ("Genset_kW", "generator_power", 1000),
    ("gen power (kW)", "generator_power", 1000),
    ("Generator load [W]", "generator_power", 1),
    ("GeneratorPowerKW", "generator_power", 1000),
    ("Mains power W", "grid_power", 1),
    ("Utility [W]", "grid_power", 1),
    ("Power from grid [W]", "grid_power", 1),
    ("Grid feed-in [W]", "grid_power", -1),
    ("Power to grid (W)", "grid_power", -1),
    ("Grid consumption [W]", "grid_power", 1),
    ("House consumption [W]", "load_power", 1),
    ("total_load_w", "load_power", 1),
    ("AC loads (W)", "load_power", 1),
    ("DC loads (W)", "dc_load_power", 1),
    ("AC output power [W]", "load_power", 1),
    ("PV power [W]", "solar_power", 1),
    ("Solar charger power [W]", "solar_power", 1),
    ("MPPT Power W", "solar_power", 1),
    ("PV inverter power [W]", "solar_ac_power", 1),
    ("Solar AC [W]", "solar_ac_power", 1),
    ("Battery power [W]", "battery_power", 1),
    ("Battery power (discharge positive) [W]", "battery_power", -1),
    ("Battery power [W] (positive = charging)", "battery_power", 1),
    ("Battery power W (negative = discharge)", "battery_power", 1),
    ("Battery power [W] (charge negative)", "battery_power", -1),
    ("Battery power [W] (+ discharge / - charge)", "battery_power", -1),
    ("Battery power [W] (+ = charge)", "battery_power", 1),
    ("battery_discharge_power_w", "battery_power", -1),
    ("Power into battery [W]", "battery_power", 1),
    ("Power from battery [W]", "battery_power", -1),
    ("Inverter power [W]", "converter_ac_power", -1),
    ("Inverter DC power [W]", "converter_dc_power", -1),
    ("Inverter/charger AC power [W]", "converter_ac_power", 1),
    ("Charger DC power [W]", "converter_dc_power", 1),
    ("Charger input power [W]", "converter_ac_power", 1),
    # German
    ("Generatorleistung [kW]", "generator_power", 1000),
    ("Notstromaggregat (W)", "generator_power", 1),
    ("Netzbezug [W]", "grid_power", 1),
    ("Netzeinspeisung [W]", "grid_power", -1),
    ("Leistung Stromnetz in W", "grid_power", 1),
    ("Hausverbrauch / kW", "load_power", 1000),
    ("Verbraucher [W]", "load_power", 1),
    ("PV-Leistung [W]", "solar_power", 1),
    ("PV-Generator [W]", "solar_power", 1),
    ("Batterieleistung [W]", "battery_power", 1),
    ("Akku Entladeleistung [W]", "battery_power", -1),
    ("Batterieleistung (Entladung positiv) [W]", "battery_power", -1),
    ("Ladeleistung Batterie [W]", "battery_power", 1),
    ("Wechselrichterleistung [W]", "converter_ac_power", -1),
    # French
    ("Puissance groupe électrogène (W)", "generator_power", 1),
    ("Puissance réseau (kW)", "grid_power", 1000),
    ("Soutirage réseau (W)", "grid_power", 1),
    ("Injection réseau (W)", "grid_power", -1),
    ("Consommation maison (W)", "load_power", 1),
    ("Production solaire (W)", "solar_power", 1),
    ("Puissance de décharge batterie (W)", "battery_power", -1),
    ("Puissance batterie (décharge positive) (W)", "battery_power", -1),
    # Spanish
    ("Potencia generador [kW]", "generator_power", 1000),
    ("Grupo electrógeno (W)", "generator_power", 1),
    ("Potencia de red (W)", "grid_power", 1),
    ("Consumo de la casa (W)", "load_power", 1),
    ("Cargas (W)", "load_power", 1),
    ("Potencia fotovoltaica (W)", "solar_power", 1),
    ("Potencia batería (descarga positiva) (W)", "battery_power", -1),
    ("Descarga batería (W)", "battery_power", -1),
]


@pytest.mark.parametrize(("header", "channel", "factor"), MEANINGS, ids=[each[0] for each in MEANINGS])
def test_powers(read, header, channel, factor):
    recording = read(table(header))
    assert recording.channels == (channel,)
    assert values(recording, channel) == [100 * factor, 200 * factor]
    reading = recording.provenance.columns[channel]
    assert reading.column == header
    assert reading.sign == (1 if factor > 0 else -1)


OTHERS = [
    ("Generator voltage L1 [V]", "generator_voltage_l1", 1),
    ("gen_v_l2", "generator_voltage_l2", 1),
    ("Generatorspannung Phase 3 (V)", "generator_voltage_l3", 1),
    ("Genset volts", "generator_voltage", 1),
    ("Generator current (mA)", "generator_current", 0.001),
    ("Courant groupe électrogène L2 (A)", "generator_current_l2", 1),
    ("Generator frequency (Hz)", "generator_frequency", 1),
    ("Frecuencia generador", "generator_frequency", 1),
    ("Battery voltage [mV]", "battery_voltage", 0.001),
    ("Batteriespannung [V]", "battery_voltage", 1),
    ("Tension batterie (V)", "battery_voltage", 1),
    ("Batteriestrom [A]", "battery_current", 1),
    ("Battery discharge current (A)", "battery_current", -1),
    ("Charging current (A)", "battery_current", 1),
    ("State of charge (%)", "battery_soc", 1),
    ("SoC", "battery_soc", 1),
    ("Ladezustand [%]", "battery_soc", 1),
    ("État de charge (%)", "battery_soc", 1),
    ("Estado de carga (%)", "battery_soc", 1),
    ("Battery %", "battery_soc", 1),
    ("Batterietemperatur [°C]", "battery_temperature", 1),
    ("Fuel level (%)", "fuel_level", 1),
    ("Tankfüllstand [%]", "fuel_level", 1),
    ("AC input limit (A)", "input_limit", 1),
    ("Input current limit [A]", "input_limit", 1),
    ("Max. charge current (A)", "charge_limit", 1),
    ("Charge current limit [A]", "charge_limit", 1),
]


@pytest.mark.parametrize(("header", "channel", "factor"), OTHERS, ids=[each[0] for each in OTHERS])
def test_what_is_no_power(read, header, channel, factor):
    recording = read(table("Load [W]", header, rows=("10", "20")))
    assert set(recording.channels) == {"load_power", channel}
    assert values(recording, channel) == pytest.approx([10 * factor, 20 * factor])


@pytest.mark.parametrize(
    "header",
    [
        "Generator energy [kWh]",
        "Generator reactive power [var]",
        "Generator power factor",
        "Generator run time [h]",
        "Generator max power [W]",
        "Generator voltage L1-L2 [V]",
        "Generator load %",
        "PV to battery [W]",
        "Rated generator power [W]",
        "PV self-consumption [W]",
        "Eigenverbrauch [W]",
        "Power [W]",
        "Grid voltage [V]",
        "Room temperature [°C]",
        "Irradiance [W/m2]",
        "Charger power [W]",
        "",
    ],
)
def test_what_is_left_alone(read, header):
    recording = read(table("Load [W]", header))
    assert recording.channels == ("load_power",)
    assert recording.provenance.ignored == ([header] if header else [])


def test_fahrenheit_and_kelvin(read):
    recording = read(table("Load [W]", "Battery temp (°F)", rows=("14", "212")))
    assert values(recording, "battery_temperature") == [-10, 100]
    recording = read(table("Load [W]", "Battery temp [K]", rows=("273.15", "300")))
    assert values(recording, "battery_temperature") == [0, 26.85]


def test_words_for_on_and_off(read):
    text = table("Load [W]", "Charger enabled", rows=("1", "0"))
    assert values(read(text.replace("1;1\n", "1;on\n").replace("0;0\n", "0;off\n")), "charger_enabled") == [
        1,
        0,
    ]


def test_charge_and_discharge_columns_become_one(read):
    text = (
        "time,Charge power [W],Discharge power [W]\n2026-02-14T10:00:00Z,500,0\n2026-02-14T10:00:01Z,0,300\n"
    )
    recording = read(text)
    assert values(recording, "battery_power") == [500, -300]
    assert recording.provenance.columns["battery_power"].column == "Charge power [W] + Discharge power [W]"
    turned = read(text.replace(",300", ",-300"))
    assert values(turned, "battery_power") == [500, -300]
    assert any("turned over" in note for note in turned.provenance.repairs.notes)


def test_import_and_export_columns_of_different_units_become_one(read):
    recording = read("time,Bezug [kW],Einspeisung [W]\n2026-02-14T10:00Z,1.5,0\n2026-02-14T10:01Z,0,300\n")
    assert values(recording, "grid_power") == [1500, -300]


def test_french_charge_is_the_load_beside_battery_columns(read):
    recording = read(
        table("Puissance groupe (W)", "Charge (W)", "Charge batterie (W)", "Décharge batterie (W)")
    )
    assert recording.provenance.columns["load_power"].column == "Charge (W)"
    assert values(recording, "battery_power") == [0, 0]


def test_legs_are_added_up_where_there_is_no_total(read):
    text = (
        "time,Generator power L1 [W],Generator power L2 [kW]\n2026-02-14T10:00Z,500,1\n2026-02-14T10:01Z,7,\n"
    )
    recording = read(text)
    assert values(recording, "generator_power") == [1500, None]
    assert "sum of 2 legs" in recording.provenance.columns["generator_power"].how


def test_a_total_goes_before_its_legs_and_strings(read):
    recording = read(table("Generator L1 [W]", "Generator L2 [W]", "Generator [W]", "PV1 [W]", "PV2 [W]"))
    assert recording.provenance.columns["generator_power"].column == "Generator [W]"
    assert values(recording, "solar_power") == [200, 400]


def test_apparent_power_only_where_there_is_nothing_better(read):
    recording = read(table("Load [kVA]", "Generator apparent power [VA]", "Generator power [W]"))
    assert values(recording, "load_power") == [1e5, 2e5]
    assert "apparent power, taken as real" in recording.provenance.columns["load_power"].how
    assert recording.provenance.columns["generator_power"].column == "Generator power [W]"


def test_a_power_without_sign_words_says_how_it_is_taken(read):
    recording = read(table("Battery power", "Grid [W]"))
    assert "charging is taken as positive" in recording.provenance.columns["battery_power"].how
    assert "no unit given, taken as W" in recording.provenance.columns["battery_power"].how
    assert "import is taken as positive" in recording.provenance.columns["grid_power"].how


def test_columns_of_words_and_empty_columns_give_way(read):
    text = (
        "time,Generator,Generator power [W],Load [W],House load [W]\n"
        "2026-02-14T10:00Z,running,5,,7\n2026-02-14T10:01Z,running,6,,8\n"
    )
    recording = read(text)
    assert values(recording, "generator_power") == [5, 6]
    assert values(recording, "load_power") == [7, 8]


def test_the_site_sheet_overrides(read):
    text = table("Load [W]", "X7", "X8 [kW]", "Generator [W]", "Battery [W]")
    rules = {
        "generator_power": ColumnRule("x7", "kW", -1),
        "load_power": ColumnRule("X8 [kW]"),
        "battery_power": ColumnRule("Battery [W]", sign=-1),
        "solar_power": ColumnRule("Generator + Load [W]"),
    }
    recording = read(text, rules=rules)
    assert values(recording, "generator_power") == [-1e5, -2e5]
    assert values(recording, "load_power") == [1e5, 2e5]
    assert values(recording, "battery_power") == [-100, -200]
    assert values(recording, "solar_power") == [200, 400]
    assert recording.provenance.columns["generator_power"].how == "by the site sheet"


def test_a_plant_name_before_every_header_changes_nothing(read):
    for plant in ("Hut 7", "Solar house", "The grid house"):
        recording = read(table(f"{plant}/Load [W]", f"{plant}/Generator [W]", f"{plant}/Battery [W]"))
        assert recording.channels == ("generator_power", "load_power", "battery_power")
        assert recording.provenance.columns["load_power"].column == f"{plant}/Load [W]"


def test_what_all_headers_share_stays_where_it_says_something(read):
    recording = read(table("Battery/Power [W]", "Battery/Voltage [V]"))
    assert recording.channels == ("battery_power", "battery_voltage")
