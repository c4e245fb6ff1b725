"""What a column may be: header and sample against the channel vocabulary."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from recordings.channels import CHANNELS, LEGGED
from recordings.tables.headings import Heading
from recordings.tables.places import (
    bare_ports,
    is_ac_input,
    is_ac_output,
    is_device_named_first,
    is_unfit,
    port_number,
    quantity_of,
    subjects_of,
)
from recordings.tables.surroundings import Surroundings
from recordings.tables.units import QUANTITY_OF, fits
from recordings.tables.words import is_french, tokens

WHOLE, PLUS, MINUS = "whole", "plus", "minus"

EXACT = 200
"""The score of a header that is a channel's own name."""

_DIRECT = {
    "solar_power",
    "battery_power",
    "battery_voltage",
    "battery_current",
    "converter_dc_power",
    "dc_load_power",
    "charge_limit",
}
_ALTERNATING = {"grid_power", "load_power", "solar_ac_power", "converter_ac_power", "input_limit"}
"""Channels of direct and of alternating current; those of the generator are of the latter."""

_GENERIC = -20
"""What a header that names a device's port instead of a place has less than one that names the place."""

_STRANGE, _MOST_STRANGE = 3, 5


@dataclass(frozen=True, slots=True)
class Guess:
    """One column as one channel, or as a share of it.

    sign    +1, or -1 where the column counts the other way
    part    WHOLE, or the PLUS (charge, import) or MINUS (discharge, export) half of a two-way stream
    signed  the header says in words which direction is positive
    score   how strong the evidence is; equal scores can't be ranked
    how     the evidence, in words
    open    it may be another channel as well: a person has to say it
    """

    heading: Heading
    channel: str
    sign: int
    part: str
    signed: bool
    score: int
    how: str
    open: bool = False

    @property
    def strangeness(self) -> int:
        """What the header's unknown words take off the score."""
        return -_STRANGE * min(self.heading.unknown, _MOST_STRANGE)

    @property
    def leg(self) -> int:
        """1..3 for a reading of one leg, else 0."""
        return self.heading.leg


def surroundings(headings: Sequence[Heading]) -> Surroundings:
    """Look at all headers of a table together; what feeds its AC inputs is left open."""
    words = {word for heading in headings for word in tokens(heading.name)}
    discharges = any(heading.has("discharge") and not heading.has("battery") for heading in headings)
    around = Surroundings(is_french(words), discharges, bare_ports(headings))
    measured = {found.channel for heading in headings if (found := guess(heading, around))}
    return replace(around, measured=frozenset(measured))


def guess(heading: Heading, around: Surroundings) -> Guess | None:
    """The channel that a header means; None where it means none, or can't be told."""
    name = heading.name
    if name in CHANNELS and (heading.unit is None or fits(heading.unit, CHANNELS[name].unit)):
        return Guess(
            heading, name, 1, WHOLE, True, EXACT, f"the channel's own name: {CHANNELS[name].positive}"
        )
    quantity = quantity_of(heading)
    if is_unfit(heading) or heading.has("unsettled") or _is_vague(heading, quantity):
        return None
    found = _setting(heading, quantity) or _state(heading, quantity)
    if found:
        return _weighed(heading, found, 1, WHOLE, True)
    if is_ac_input(heading, "input" in around.bare_ports):
        return _ac_input(heading, quantity, around)
    if is_ac_output(heading, "output" in around.bare_ports):
        return _ac_output(heading, quantity)
    if quantity in ("voltage", "frequency"):
        return _electrical(heading, quantity)
    if quantity == "current":
        return _current(heading, around)
    if quantity in ("power", "apparent", ""):
        return _power(heading, around)
    return None


def _is_vague(heading: Heading, quantity: str) -> bool:
    """Without a unit every word must be known; where nothing says what is measured, it may be any quantity."""
    if heading.unit is not None:
        return False
    if heading.unknown:
        return True
    counts = heading.has("total") and not _state(heading, quantity)
    return not quantity and (counts or (not subjects_of(heading) and heading.has("charge", "discharge")))


def _setting(heading: Heading, quantity: str) -> str:
    if heading.has("limit", "maximum"):
        if quantity not in ("current", "") or heading.has("export"):
            return "none"
        if heading.has("solar", "discharge"):
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
        return "battery_temperature" if subjects_of(heading) == {"battery"} else "none"
    if heading.has("fuel") or heading.all_of("generator", "level"):
        if heading.unknown and heading.says.get("fuel") == "tank" and not heading.has("generator"):
            return "none"
        return "fuel_level" if quantity == "percent" or heading.has("level") else "none"
    if heading.has("chargestate"):
        return "battery_soc" if quantity == "percent" else "none"
    if heading.has("soc") or (heading.has("battery") and (quantity == "percent" or heading.has("level"))):
        return "battery_soc"
    return "none" if quantity == "percent" or heading.has("level") else ""


def _ac_input(heading: Heading, quantity: str, around: Surroundings) -> Guess | None:
    """The AC input of an inverter-charger is the generator or the grid."""
    feed = around.feeds.get(port_number(heading))
    if feed is None or (quantity == "voltage" and heading.legs > 1):
        return None
    is_power = quantity in ("power", "apparent", "")
    channel = "generator_power" if is_power else f"generator_{quantity}{_leg(heading)}"
    if feed.source == "grid":
        channel = "grid_power" if is_power else ""
    elif not feed.source:
        channel = _open_channel(channel, is_power, around) if feed.asks else ""
    found = _weighed(heading, channel, 1, WHOLE, True, _GENERIC, feed.why)
    return replace(found, open=True) if found and not feed.source else found


def _open_channel(channel: str, is_power: bool, around: Surroundings) -> str:
    """Which channel to ask about, where other columns don't hold it already; "" for none."""
    if "generator_power" not in around.measured:
        return "" if channel in around.measured else channel
    return "grid_power" if is_power and "grid_power" not in around.measured else ""


def _ac_output(heading: Heading, quantity: str) -> Guess | None:
    if quantity not in ("power", "apparent", ""):
        return None
    return _weighed(heading, "load_power", 1, WHOLE, True, _GENERIC, "the AC output feeds the house")


def _electrical(heading: Heading, quantity: str) -> Guess | None:
    subjects = subjects_of(heading)
    # A voltage between two legs is not that of a leg to neutral, nor a charging voltage one that was measured.
    if quantity == "voltage" and (
        heading.legs > 1 or heading.has("between", "charge") or (heading.has("line") and not heading.leg)
    ):
        return None
    if subjects == {"generator"}:
        return _weighed(heading, f"generator_{quantity}{_leg(heading)}", 1, WHOLE, True)
    if subjects == {"battery"} and quantity == "voltage":
        return _weighed(heading, "battery_voltage", 1, WHOLE, True)
    return None


def _current(heading: Heading, around: Surroundings) -> Guess | None:
    subjects = subjects_of(heading)
    if subjects == {"generator"} and (heading.legs > 1 or (heading.has("neutral") and not heading.leg)):
        return None
    if subjects == {"generator"}:
        return _weighed(heading, f"generator_current{_leg(heading)}", 1, WHOLE, True)
    charges = heading.has("charge", "discharge") and not heading.has("input", "output")
    if subjects == {"battery"} or (not subjects and charges):
        return _two_way(heading, around, "battery_current", "charge", "discharge")
    return None


def _leg(heading: Heading) -> str:
    return f"_l{heading.leg}" if heading.leg else ""


def _power(heading: Heading, around: Surroundings) -> Guess | None:
    subjects = subjects_of(heading)
    if _is_between(heading, subjects):
        return None
    if not subjects:
        return _power_without_place(heading, around)
    if subjects == {"generator"}:
        return _weighed(heading, "generator_power", 1, WHOLE, True)
    if subjects == {"grid"}:
        return _two_way(heading, around, "grid_power", "import", "export")
    if subjects == {"load"}:
        return _weighed(heading, _load(heading), 1, WHOLE, True)
    if subjects == {"solar"}:
        return _solar(heading)
    if subjects == {"battery"}:
        return _two_way(heading, around, "battery_power", "charge", "discharge")
    return _converter(heading, subjects)


def _load(heading: Heading) -> str:
    return "dc_load_power" if heading.has("dc") else "load_power"


def _solar(heading: Heading) -> Guess | None:
    """Solar onto the DC bus, or through an inverter of its own onto the AC bus."""
    has_inverter = heading.has("inverter")
    if has_inverter and (heading.has("dc", "input") or is_device_named_first(heading)):
        # Before its inverter it is on no bus, and what a hybrid calls so is on the DC bus.
        return None
    coupled = has_inverter or heading.has("ac") or heading.leg
    return _weighed(heading, "solar_ac_power" if coupled else "solar_power", 1, WHOLE, True)


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
    if heading.has("production") and heading.unit is not None:
        return _weighed(heading, "solar_power", 1, WHOLE, True, _GENERIC, "production is taken as solar")
    return None


def _converter(heading: Heading, subjects: set[str]) -> Guess | None:
    sides = [side for side in ("ac", "dc") if heading.has(side)]
    if heading.has("charge", "discharge", "import", "export", "from", "to") or len(sides) > 1:
        return None
    # An inverter-charger has an input and an output on both sides.
    through = heading.has("input", "output")
    if subjects == {"converter"} and sides and not through:
        channel = f"converter_{sides[0]}_power"
        return _weighed(heading, channel, 1, WHOLE, True, 0, "charging is taken as positive")
    if subjects == {"charger"} and (sides or through):
        channel = "converter_ac_power" if heading.has("ac", "input") else "converter_dc_power"
        return _weighed(heading, channel, 1, WHOLE, True)
    if subjects == {"inverter"} and not through:
        channel = "converter_dc_power" if heading.has("dc") else "converter_ac_power"
        return _weighed(
            heading, channel, -1, WHOLE, True, 0, "an inverter's power is taken as positive to the AC bus"
        )
    return None


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
    subjects = subjects_of(heading)
    if channel.startswith("battery_") and not subjects and _is_load_or_charge(heading, around):
        return None
    if channel == "battery_power" and not subjects and _means_load(heading, around):
        return _weighed(
            heading, _load(heading), 1, WHOLE, True, 0, "charge is the French and Spanish word for load"
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


def _is_load_or_charge(heading: Heading, around: Surroundings) -> bool:
    """True for `Potencia de carga` and `Puissance de charge` without anything that tells load from charging."""
    if around.discharges or heading.has("discharge", "to", "from", "input", "output"):
        return False
    french = around.french and heading.says.get("charge") == "charge"
    quantity = heading.has("power", "current")
    return quantity and heading.has("plain") and (heading.has("carga") or french)


def _means_load(heading: Heading, around: Surroundings) -> bool:
    if around.discharges or heading.has("to", "from", "input", "output"):
        return False
    return heading.has("carga") or (around.french and heading.says.get("charge") == "charge")


def _weighed(
    heading: Heading, channel: str, sign: int, part: str, signed: bool, extra: int = 0, remark: str = ""
) -> Guess | None:
    if channel not in CHANNELS or _is_other_kind(heading, channel):
        return None
    unit = CHANNELS[channel].unit
    if heading.unit is not None and not fits(heading.unit, unit):
        return None
    if heading.leg and not channel.endswith("_power") and channel.rpartition("_")[0] not in LEGGED:
        return None
    score = 40 + extra + _quantity_score(heading, unit)
    score += 4 * heading.has("total") - _STRANGE * min(heading.unknown, _MOST_STRANGE)
    return Guess(heading, channel, sign, part, signed, score, _told(heading, channel, remark))


def _is_other_kind(heading: Heading, channel: str) -> bool:
    """True where alternating and direct current contradict one another."""
    if channel in _DIRECT:
        apparent = quantity_of(heading) == "apparent"
        return heading.has("ac") or apparent or (heading.leg > 0 and channel.endswith("_power"))
    alternating = channel in _ALTERNATING or channel.startswith("generator_")
    return alternating and heading.has("dc")


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
