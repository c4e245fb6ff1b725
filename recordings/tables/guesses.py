"""What a column may be: header and sample against the channel vocabulary."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from recordings.channels import CHANNELS, LEGGED
from recordings.tables.headings import Heading
from recordings.tables.units import QUANTITY_OF, fits
from recordings.tables.words import UNFIT, is_french, tokens

WHOLE, PLUS, MINUS = "whole", "plus", "minus"

EXACT = 200
"""The score of a header that is a channel's own name."""

_SUBJECTS = (
    "generator",
    "grid",
    "load",
    "consumption",
    "solar",
    "battery",
    "inverter",
    "converter",
    "charger",
)
_QUANTITIES = ("percent", "power", "voltage", "current", "frequency", "temperature")


_STRANGE, _MOST_STRANGE = 3, 5


@dataclass(frozen=True, slots=True)
class Guess:
    """One column as one channel, or as a share of it.

    sign    +1, or -1 where the column counts the other way
    part    WHOLE, or the PLUS (charge, import) or MINUS (discharge, export) half of a two-way stream
    signed  the header says in words which direction is positive
    score   how strong the evidence is; equal scores can't be ranked
    how     the evidence, in words
    """

    heading: Heading
    channel: str
    sign: int
    part: str
    signed: bool
    score: int
    how: str

    @property
    def strangeness(self) -> int:
        """What the header's unknown words take off the score."""
        return -_STRANGE * min(self.heading.unknown, _MOST_STRANGE)

    @property
    def leg(self) -> int:
        """1..3 for a reading of one leg, else 0."""
        return self.heading.leg


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the other headers tell.

    french      French is spoken: there `charge` alone means the load,
    discharges  unless a header says `discharge` alone, without a battery
    """

    french: bool = False
    discharges: bool = False


def surroundings(headings: Sequence[Heading]) -> Surroundings:
    """Look at all headers of a table together."""
    words = {word for heading in headings for word in tokens(heading.name)}
    return Surroundings(
        is_french(words), any(heading.has("discharge") and not heading.has("battery") for heading in headings)
    )


def guess(heading: Heading, around: Surroundings) -> Guess | None:
    """The channel that a header means; None where it means none, or can't be told."""
    name = heading.name
    if name in CHANNELS and (heading.unit is None or fits(heading.unit, CHANNELS[name].unit)):
        return Guess(
            heading, name, 1, WHOLE, True, EXACT, f"the channel's own name: {CHANNELS[name].positive}"
        )
    quantity = quantity_of(heading)
    if _is_unfit(heading) or _is_vague(heading, quantity):
        return None
    found = _setting(heading, quantity) or _state(heading, quantity)
    if found:
        return _weighed(heading, found, 1, WHOLE, True)
    if quantity in ("voltage", "frequency"):
        return _electrical(heading, quantity)
    if quantity == "current":
        return _current(heading, around)
    if quantity in ("power", "apparent", ""):
        return _power(heading, around)
    return None


def quantity_of(heading: Heading) -> str:
    """What is measured, by the unit, else by the words; "" where neither says."""
    if heading.unit is not None:
        return heading.unit.quantity
    if heading.has("apparent"):
        return "apparent"
    # English "current" is also "now", and German "Strom" also electricity: any other quantity comes first.
    return next((quantity for quantity in _QUANTITIES if heading.has(quantity)), "")


def _is_unfit(heading: Heading) -> bool:
    if heading.has(*UNFIT, "reactive", "time"):
        return True
    if heading.has("maximum") and not heading.has("limit", "charge", "input", "carga"):
        return True
    return heading.has("energy") and quantity_of(heading) not in ("power", "current")


def _is_vague(heading: Heading, quantity: str) -> bool:
    """Without a unit every word must be known; where nothing says what is measured, it may be any quantity."""
    if heading.unit is not None:
        return False
    if heading.unknown:
        return True
    counts = heading.has("total") and not _state(heading, quantity)
    return not quantity and (counts or (not _subjects(heading) and heading.has("charge", "discharge")))


def _setting(heading: Heading, quantity: str) -> str:
    if heading.has("limit", "maximum"):
        if quantity not in ("current", "") or heading.has("export"):
            return "none"
        if heading.has("charge", "charger", "carga"):
            return "charge_limit" if quantity else "none"
        if heading.has("input"):
            return "input_limit"
        return "input_limit" if quantity and heading.has("grid", "generator") else "none"
    if heading.has("enabled"):
        return "charger_enabled" if heading.has("charger", "charge", "carga") else "none"
    return ""


def _state(heading: Heading, quantity: str) -> str:
    if quantity not in ("percent", "temperature", ""):
        return ""
    if quantity == "temperature":
        return "battery_temperature" if _subjects(heading) == {"battery"} else "none"
    if heading.has("fuel") or heading.all_of("generator", "level"):
        return "fuel_level" if quantity == "percent" or heading.has("level") else "none"
    if heading.has("chargestate"):
        return "battery_soc" if quantity == "percent" else "none"
    if heading.has("soc") or (heading.has("battery") and (quantity == "percent" or heading.has("level"))):
        return "battery_soc"
    return "none" if quantity == "percent" or heading.has("level") else ""


def _electrical(heading: Heading, quantity: str) -> Guess | None:
    subjects = _subjects(heading)
    # A voltage between two legs is not that of a leg to neutral, nor a charging voltage one that was measured.
    if quantity == "voltage" and (
        heading.legs > 1 or heading.has("between", "charge") or (heading.has("line") and not heading.leg)
    ):
        return None
    if subjects == {"generator"} and not heading.has("dc"):
        return _weighed(heading, f"generator_{quantity}{_leg(heading)}", 1, WHOLE, True)
    if subjects == {"battery"} and quantity == "voltage":
        return _weighed(heading, "battery_voltage", 1, WHOLE, True)
    return None


def _current(heading: Heading, around: Surroundings) -> Guess | None:
    subjects = _subjects(heading)
    if subjects == {"generator"} and (heading.legs > 1 or (heading.has("neutral") and not heading.leg)):
        return None
    if subjects == {"generator"}:
        return _weighed(heading, f"generator_current{_leg(heading)}", 1, WHOLE, True)
    if subjects == {"battery"} or (not subjects and _direction(heading, "charge", "discharge")):
        return _two_way(heading, around, "battery_current", "charge", "discharge")
    return None


def _leg(heading: Heading) -> str:
    return f"_l{heading.leg}" if heading.leg else ""


def _power(heading: Heading, around: Surroundings) -> Guess | None:
    subjects = _subjects(heading)
    if _is_between(heading, subjects):
        return None
    if not subjects:
        return _power_without_place(heading, around)
    if subjects == {"generator"}:
        return _weighed(heading, "generator_power", 1, WHOLE, True)
    if subjects == {"grid"}:
        return _two_way(heading, around, "grid_power", "import", "export")
    if subjects == {"load"}:
        return _weighed(heading, "dc_load_power" if heading.has("dc") else "load_power", 1, WHOLE, True)
    if subjects == {"solar"}:
        coupled = heading.has("ac", "inverter")
        return _weighed(heading, "solar_ac_power" if coupled else "solar_power", 1, WHOLE, True)
    if subjects == {"battery"}:
        return _two_way(heading, around, "battery_power", "charge", "discharge")
    return _converter(heading, subjects)


def _is_between(heading: Heading, subjects: set[str]) -> bool:
    """True where a header names a flow from one place to another, such as what the sun charges."""
    if subjects in ({"grid"}, {"solar"}, {"generator"}) and heading.has("charge", "carga"):
        return True
    if not subjects and heading.all_of("ac", "charge"):
        return True
    if subjects == {"solar"} and heading.has("export", "import"):
        return True
    return subjects == {"generator"} and heading.has("consumption", "to", "from")


def _power_without_place(heading: Heading, around: Surroundings) -> Guess | None:
    if heading.has("import", "export"):
        return _two_way(heading, around, "grid_power", "import", "export")
    if heading.has("charge", "discharge"):
        return _two_way(heading, around, "battery_power", "charge", "discharge")
    if heading.has("carga"):
        return _two_way(heading, around, "battery_power", "charge", "discharge")
    if heading.all_of("ac", "output"):
        return _weighed(heading, "load_power", 1, WHOLE, True, -20, "the AC output feeds the house")
    if heading.has("production") and heading.unit is not None:
        return _weighed(heading, "solar_power", 1, WHOLE, True, -20, "production is taken as solar")
    return None


def _converter(heading: Heading, subjects: set[str]) -> Guess | None:
    if heading.has("charge", "discharge", "import", "export", "from", "to"):
        return None
    if subjects == {"converter"} and heading.has("ac", "dc"):
        channel = "converter_ac_power" if heading.has("ac") else "converter_dc_power"
        return _weighed(heading, channel, 1, WHOLE, True, 0, "charging is taken as positive")
    if subjects == {"charger"} and heading.has("ac", "dc", "input", "output"):
        channel = "converter_ac_power" if heading.has("ac", "input") else "converter_dc_power"
        return _weighed(heading, channel, 1, WHOLE, True)
    if subjects == {"inverter"}:
        channel = "converter_dc_power" if heading.has("dc", "input") else "converter_ac_power"
        return _weighed(
            heading, channel, -1, WHOLE, True, 0, "an inverter's power is taken as positive to the AC bus"
        )
    return None


def _subjects(heading: Heading) -> set[str]:
    """The places that a header names, with the usual pairs of words made one."""
    found = {word for word in _SUBJECTS if heading.has(word)}
    if "consumption" in found:
        found.discard("consumption")
        # What is consumed from the grid is import; anything else that is consumed is load.
        if "grid" not in found:
            found.add("load")
    for pair, meant in (
        ({"solar", "generator"}, "solar"),
        ({"solar", "inverter"}, "solar"),
        ({"solar", "charger"}, "solar"),
        ({"inverter", "charger"}, "converter"),
        ({"converter", "inverter"}, "converter"),
        ({"battery", "inverter"}, "converter"),
        ({"battery", "charger"}, "charger"),
        ({"generator", "load"}, "generator"),
    ):
        if pair <= found:
            found = (found - pair) | {meant}
    return found


def _direction(heading: Heading, plus: str, minus: str) -> str:
    """PLUS or MINUS where the header names one direction, "both" for two, "" for none."""
    ahead = heading.has(plus) or (plus == "charge" and heading.has("carga"))
    back = heading.has(minus)
    if plus == "charge":
        ahead |= heading.has("to", "input")
        back |= heading.has("from", "output")
    else:
        ahead |= heading.has("from", "input", "consumption")
        back |= heading.has("to", "output")
    if ahead and back:
        return "both"
    return PLUS if ahead else MINUS if back else ""


def _two_way(heading: Heading, around: Surroundings, channel: str, plus: str, minus: str) -> Guess | None:
    """Battery or grid: whole with a sign in words, one of two halves, or whole without a word about its sign."""
    subjects = _subjects(heading)
    if channel == "battery_power" and not subjects and _means_load(heading, around):
        return _weighed(
            heading, "load_power", 1, WHOLE, True, 0, "charge is the French and Spanish word for load"
        )
    if heading.positive in (plus, minus):
        sign = 1 if heading.positive == plus else -1
        return _weighed(
            heading, channel, sign, WHOLE, True, 5, f"the header says that {heading.positive} is positive"
        )
    direction = _direction(heading, plus, minus)
    if direction in (PLUS, MINUS):
        sign = 1 if direction == PLUS else -1
        return _weighed(heading, channel, sign, direction, True)
    taken = f"{'charging' if plus == 'charge' else 'import'} is taken as positive"
    return _weighed(heading, channel, 1, WHOLE, False, 0, taken)


def _means_load(heading: Heading, around: Surroundings) -> bool:
    if around.discharges or heading.has("to", "from", "input", "output"):
        return False
    return heading.has("carga") or (around.french and heading.says.get("charge") == "charge")


def _weighed(
    heading: Heading, channel: str, sign: int, part: str, signed: bool, extra: int = 0, remark: str = ""
) -> Guess | None:
    if channel not in CHANNELS:
        return None
    unit = CHANNELS[channel].unit
    if heading.unit is not None and not fits(heading.unit, unit):
        return None
    if heading.leg and not channel.endswith("_power") and channel.rpartition("_")[0] not in LEGGED:
        return None
    score = 40 + extra + _quantity_score(heading, unit)
    score += 4 * heading.has("total") - _STRANGE * min(heading.unknown, _MOST_STRANGE)
    return Guess(heading, channel, sign, part, signed, score, _told(heading, channel, remark))


def _quantity_score(heading: Heading, unit: str) -> int:
    quantity = QUANTITY_OF.get(unit, "")
    said = heading.has(quantity) if quantity else True
    if heading.unit is not None and heading.unit.quantity == "apparent":
        return 15
    if heading.unit is None and heading.has("apparent"):
        return 10
    if heading.unit is not None:
        return 45 if said else 40
    return 30 if said or heading.has("soc", "level", "limit") else 10


def _told(heading: Heading, channel: str, remark: str) -> str:
    silent = ("plain", "positive", "negative")
    words = list(
        dict.fromkeys(f'"{word}"' for meaning, word in heading.says.items() if meaning not in silent)
    )
    if heading.leg:
        words.append(f"leg {heading.leg}")
    parts = ["by " + ", ".join(words)] if words else []
    if heading.unknown:
        parts.append("other words of the header are not understood")
    unit = CHANNELS[channel].unit
    if heading.unit is not None:
        parts.append(f"unit from the {heading.unit_from}")
    elif unit:
        parts.append(f"no unit given, taken as {unit}")
    if (heading.unit is not None and heading.unit.quantity == "apparent") or heading.has("apparent"):
        parts.append("apparent power, taken as real")
    if remark:
        parts.append(remark)
    return "; ".join(parts)
