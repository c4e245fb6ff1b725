"""Every key of the site sheet: what it is called, in which unit it is, and what it means (English templates)."""

from __future__ import annotations

from dataclasses import dataclass

from desktop.words import template


@dataclass(frozen=True, slots=True)
class Key:
    """One key.

    section      the table that it stands in; of keys that come once per channel or device, the table of all
    label        what it is called
    unit         in which unit its value is, "" for none
    explanation  one line for a person who never saw it
    """

    section: str
    key: str
    label: str
    unit: str
    explanation: str

    @property
    def path(self) -> tuple[str, str]:
        """Section and key."""
        return self.section, self.key


SECTIONS: dict[str, str] = {
    "site": template("Site"),
    "generator": template("Generator"),
    "input": template("AC input"),
    "charger": template("Charger"),
    "inverter": template("Inverter"),
    "battery": template("Battery"),
    "solar": template("Solar"),
    "meters": template("Meters"),
    "columns": template("Columns"),
    "device": template("Devices"),
    "refill": template("Refills"),
    "appliance": template("Appliances"),
}
"""The sheet's tables and what they are called, in the order in which they are shown."""

_SITE = (
    Key("site", "name", template("Name"), "", template("What to call the plant.")),
    Key(
        "site",
        "timezone",
        template("Time zone"),
        "",
        template("In which clock times are shown, and read where a log's stamps carry no offset."),
    ),
    Key(
        "site",
        "stamp",
        template("A stamp means"),
        "",
        template("The instant of a reading, or the start or end of the interval that it is the mean of."),
    ),
    Key(
        "site",
        "dates",
        template("Dates are written"),
        "",
        template("How a date such as 03/04/2026 is meant, where the log doesn't tell by itself."),
    ),
)

_GENERATOR = (
    Key(
        "generator",
        "rated_w",
        template("Continuous rating"),
        "W",
        template("Real power that the generator can carry for hours, off its plate; not the peak rating."),
    ),
    Key(
        "generator",
        "volts",
        template("Voltage"),
        "V",
        template("From leg to neutral: 230, or 120 where two legs have 240 between them."),
    ),
    Key("generator", "legs", template("Legs"), "", template("How many legs (phases) feed the AC input.")),
    Key(
        "generator", "hz", template("Frequency"), "Hz", template("What the generator is built for: 50 or 60.")
    ),
    Key(
        "generator",
        "power_factor",
        template("Power factor"),
        "",
        template("Of what the generator usually carries: real power over apparent power."),
    ),
    Key("generator", "fuel", template("Fuel"), "", template("What it burns.")),
    Key(
        "generator",
        "fuel_half_load",
        template("Fuel at half load"),
        "L/h",
        template("Off its data sheet."),
    ),
    Key(
        "generator",
        "fuel_full_load",
        template("Fuel at full load"),
        "L/h",
        template("Off its data sheet."),
    ),
    Key("generator", "tank", template("Tank"), "L", template("What the tank holds when it is full.")),
    Key(
        "generator", "store", template("Store"), "L", template("Fuel kept besides the tank, such as in cans.")
    ),
    Key(
        "generator",
        "altitude_m",
        template("Altitude"),
        "m",
        template("Of the place where the generator runs: thin air takes some of its rating."),
    ),
    Key(
        "generator",
        "air_c",
        template("Air temperature"),
        "°C",
        template("Where the generator draws its air, on a warm day: hot air takes some of its rating."),
    ),
    Key(
        "generator",
        "price_per_unit",
        template("Price of fuel"),
        template("per litre"),
        template("In any currency."),
    ),
)

_CONVERTER = (
    Key(
        "input",
        "limit_a",
        template("AC input limit"),
        "A",
        template("Set at the inverter-charger, per leg: what it may draw from the generator."),
    ),
    Key(
        "input",
        "circuit_a",
        template("Input circuit"),
        "A",
        template("What wiring and breaker between generator and inverter-charger are rated for, per leg."),
    ),
    Key(
        "charger",
        "limit_a",
        template("Charger limit"),
        "A",
        template("Set at the inverter-charger: direct current into the battery."),
    ),
    Key(
        "charger",
        "rated_w",
        template("Charger rating"),
        "W",
        template("AC power that the charger can take at most."),
    ),
    Key(
        "charger",
        "on_grid",
        template("Charges from the grid"),
        "",
        template("true where it is meant to charge from the grid too, false where it is not."),
    ),
    Key(
        "inverter",
        "rated_w",
        template("Inverter rating"),
        "W",
        template("AC power that the inverter can give for hours."),
    ),
    Key(
        "inverter",
        "cut_off_soc",
        template("Cut-off, state of charge"),
        "%",
        template("State of charge at which it stops taking from the battery."),
    ),
    Key(
        "inverter",
        "cut_off_v",
        template("Cut-off, voltage"),
        "V",
        template("Battery voltage at which it stops taking from the battery."),
    ),
)

_BATTERY = (
    Key("battery", "chemistry", template("Chemistry"), "", template("Which kind of battery it is.")),
    Key(
        "battery",
        "capacity_kwh",
        template("Capacity"),
        "kWh",
        template("What it gives from full to empty, off its plate."),
    ),
    Key(
        "battery",
        "nominal_v",
        template("Nominal voltage"),
        "V",
        template("Off its plate, such as 51.2."),
    ),
    Key(
        "battery",
        "max_charge_a",
        template("Highest charge current"),
        "A",
        template("What the battery may take at most, off its data sheet."),
    ),
    Key(
        "battery",
        "absorb_v",
        template("Absorption voltage"),
        "V",
        template("Where the charger stops raising the voltage and the current falls."),
    ),
    Key(
        "battery",
        "float_v",
        template("Float voltage"),
        "V",
        template("What the charger holds when the battery is full."),
    ),
    Key(
        "battery",
        "min_charge_c",
        template("Coldest for charging"),
        "°C",
        template("Below this battery temperature it must not be charged."),
    ),
    Key(
        "battery",
        "max_charge_c",
        template("Warmest for charging"),
        "°C",
        template("Above this battery temperature it must not be charged."),
    ),
    Key(
        "battery",
        "reserve_soc",
        template("Reserve"),
        "%",
        template("State of charge that the battery should not fall below."),
    ),
    Key(
        "battery",
        "target_soc",
        template("Target"),
        "%",
        template("State of charge at which the generator may be stopped."),
    ),
    Key(
        "solar",
        "rated_w",
        template("Solar rating"),
        "W",
        template("What the panels give at most."),
    ),
    Key(
        "solar",
        "coupling",
        template("Coupling"),
        "",
        template("On the battery's side (DC) or on the house's side (AC)."),
    ),
)

_REPEATED = (
    Key(
        "meters",
        "percent",
        template("Percent of reading"),
        "%",
        template("How good the meter is: one standard deviation, as a part of the reading."),
    ),
    Key(
        "meters",
        "floor_w",
        template("Floor"),
        "W",
        template("What is added to that even where the reading is nought."),
    ),
    Key(
        "columns",
        "column",
        template("Column"),
        "",
        template("The header of the column; several joined by + are added up; none leaves the channel out."),
    ),
    Key("columns", "unit", template("Unit"), "", template("The unit in the file, where its header errs.")),
    Key(
        "columns",
        "sign",
        template("Sign"),
        "",
        template("−1 where the file counts the other way round than the channel."),
    ),
    Key(
        "columns",
        "less",
        template("Less"),
        "",
        template("The header of a column with the other direction, which is taken off."),
    ),
    Key(
        "columns",
        "scale",
        template("Scale"),
        "",
        template("What the readings are multiplied with, where the meter errs by a factor."),
    ),
    Key(
        "columns",
        "offset",
        template("Offset"),
        "",
        template("What is then added, in the channel's own unit, where the meter errs by so much."),
    ),
    Key(
        "device",
        "source",
        template("Source"),
        "",
        template("Where the device is reached, such as modbus-tcp://10.0.0.5:502?unit=1."),
    ),
    Key(
        "device",
        "role",
        template("Role"),
        "",
        template("What it measures, where it doesn't say so itself."),
    ),
    Key(
        "device",
        "map",
        template("Register map"),
        "",
        template("The file that says what its registers mean, where it doesn't describe itself."),
    ),
    Key("refill", "at", template("Filled in at"), "", template("Date and time; local where without offset.")),
    Key("refill", "amount", template("Filled in"), "L", template("How much fuel went into the tank.")),
    Key("refill", "full", template("Full"), "", template("Whether the tank was full afterwards.")),
    Key("appliance", "name", template("Name"), "", template("What it is.")),
    Key("appliance", "watts", template("Power"), "W", template("What one of them takes while it runs.")),
    Key("appliance", "count", template("Count"), "", template("How many of them there are.")),
    Key("appliance", "hours_per_day", template("Hours a day"), "h", template("How long each runs in a day.")),
    Key(
        "appliance", "since", template("From"), "h", template("Hour of the day before which it doesn't run.")
    ),
    Key(
        "appliance", "until", template("Until"), "h", template("Hour of the day after which it doesn't run.")
    ),
)

SINGLE: tuple[Key, ...] = _SITE + _GENERATOR + _CONVERTER + _BATTERY
"""The keys that a sheet has once."""

REPEATED: tuple[Key, ...] = _REPEATED
"""The keys that a sheet has once per channel (meters, columns), device, refill or appliance."""

KEYS: tuple[Key, ...] = SINGLE + REPEATED
"""All keys, in the order in which they are shown."""
