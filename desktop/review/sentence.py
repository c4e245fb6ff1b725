"""The one sentence at the top and the line below: what is carried and charged, what is wrong, what to do."""

from __future__ import annotations

import math
from datetime import tzinfo
from typing import Any

from desktop.charging.usual_times import COOLED_S
from desktop.diagnosis.finding import Finding
from desktop.flow.streams import SINKS, SOURCES
from desktop.review.moment import GapNow, LimitNow, Moment
from desktop.words import Phrase, template, word_in

LEAST_W = 25.0
"""What is less than this is not worth telling."""

COOLING_S = 900.0
"""A set that carried load less than this ago cools down; one that did not warms up."""

_LEAST_SHARE = 0.04

_SUN = {"solar": "solar", "solar_ac": "solar"}
_AT_START = {
    "generator": template("The generator"),
    "grid": template("The grid"),
    "solar": word_in("carries or charges", "Solar"),
    "battery": template("The battery"),
}
_WITHIN = {
    "generator": template("the generator"),
    "grid": template("the grid"),
    "solar": template("solar"),
    "battery": template("the battery"),
}
_UNKNOWN = {
    "generator": template("What the generator gives is not known."),
    "grid": template("What the grid gives is not known."),
    "load": template("What the house takes is not known."),
    "solar": template("What the sun gives is not known."),
    "solar_ac": template("What the sun gives is not known."),
    "battery": template("What the battery takes or gives is not known."),
}
_UNACCOUNTED = {
    "ac": (
        template("{missing:W} ± {sd:W} goes missing on the AC side."),
        template("{missing:W} ± {sd:W} more leaves the AC side than is seen to enter."),
    ),
    "dc": (
        template("{missing:W} ± {sd:W} goes missing on the battery side."),
        template("{missing:W} ± {sd:W} more leaves the battery side than is seen to enter."),
    ),
    "both": (
        template("{missing:W} ± {sd:W} goes missing."),
        template("{missing:W} ± {sd:W} more leaves than is seen to enter."),
    ),
}
_LEADING = ("act now", "attend")


def sentence(
    moment: Moment, read_at: int, zone: tzinfo, relieved_s: float = math.inf
) -> tuple[Phrase, Phrase]:
    """Headline and detail of a moment whose other parts are filled in.

    read_at     when the row that is shown was read, UTC nanoseconds
    zone        the time zone of clock times
    relieved_s  how long ago the generator last carried load
    """
    if moment.row < 0:
        return Phrase("Nothing is recorded yet."), Phrase("")
    if moment.stale:
        return (
            Phrase("Not known: there are no readings for this time."),
            Phrase("What is shown was read at {time:clock}.", zone, time=read_at),
        )
    telling = _Telling(moment, relieved_s)
    state = telling.state()
    if moment.findings and moment.findings[0].severity in _LEADING:
        return finding_told(moment.findings[0], state)
    return state, joined(*telling.more())


def finding_told(finding: Finding, state: Phrase) -> tuple[Phrase, Phrase]:
    """Headline and detail while a finding stands; where its cause isn't known, what goes on stands in its place."""
    return finding.text, joined(finding.cause or state, finding.advice)


class _Telling:
    def __init__(self, moment: Moment, relieved_s: float) -> None:
        self._moment = moment
        self._relieved_s = relieved_s
        self._value = {name: stream.value for name, stream in moment.streams.items()}

    def state(self) -> Phrase:
        """What is carried and what is charged."""
        if self._nothing_flows():
            return joined(self._idle_generator(), Phrase("Nothing flows."))
        return joined(*self._flowing()) or self._nothing_known()

    def _flowing(self) -> list[Phrase]:
        return [self._idle_generator(), *self._carried_and_charged(), self._exported()]

    def more(self) -> list[Phrase]:
        """What belongs beside the state: what is wrong, what helps, how full the battery is, what to do."""
        moment = self._moment
        notes = [finding.text for finding in moment.findings[:1]]
        return [
            *notes,
            *(_unaccounted(gap) for gap in moment.gaps if gap.significant and not moment.findings),
            *self._not_known(),
            *(_beyond(limit) for limit in moment.limits if limit.state == "over"),
            self._input(),
            self._silent_sun(),
            self._dc_loads(),
            self._level(),
            *(finding.advice for finding in moment.findings[:1]),
            self._unloaded_advice(),
        ][:6]

    def _has(self, name: str) -> bool:
        """True where the plant has the stream, and its power is known."""
        return self._known(name) and self._moment.streams[name].knowledge != "absent"

    def _known(self, name: str) -> bool:
        return not math.isnan(self._value[name])

    def _flows(self, name: str) -> bool:
        return self._known(name) and abs(self._value[name]) >= LEAST_W

    def _unloaded(self) -> bool:
        return bool(self._moment.generator.running) and (
            self._known("generator") and abs(self._value["generator"]) < LEAST_W
        )

    def _idle_generator(self) -> Phrase:
        return Phrase("The generator runs without load.") if self._unloaded() else Phrase("")

    def _nothing_flows(self) -> bool:
        told = ("generator", "grid", "load", "battery", "solar", "solar_ac")
        return all(self._known(name) and not self._flows(name) for name in told)

    def _carried_and_charged(self) -> list[Phrase]:
        load, battery = self._value["load"], self._value["battery"]
        carriers = self._givers("load", load)
        chargers = self._givers("battery", battery)
        loaded, charged = self._flows("load"), self._flows("battery") and battery > 0
        if loaded and charged and len(carriers) == 1 and carriers[0] in chargers:
            share = self._fed("battery")[carriers[0]]
            others = [name for name in chargers if name != carriers[0]]
            return [
                Phrase(
                    "{source} carries {load:W} of house load and charges the battery with {charge:W}.",
                    source=_AT_START[carriers[0]],
                    load=load,
                    charge=share,
                ),
                *([_charging(others, battery - share, also=True)] if others else []),
            ]
        told = [_carrying(carriers, load)] if loaded else []
        if charged:
            told.append(_charging(chargers, battery, also=False))
        elif self._flows("battery") and "battery" not in carriers:
            told.append(Phrase("The battery gives {power:W}.", power=-battery))
        elif loaded and "generator" in carriers and self._has("battery") and not self._flows("battery"):
            told.append(Phrase("The battery is not being charged."))
        return told

    def _fed(self, sink: str) -> dict[str, float]:
        """What each source gives to a sink, W, the largest first; both kinds of solar are one sun."""
        column = self._moment.table[:, SINKS.index(sink)]
        given: dict[str, float] = {}
        for source, power in zip(SOURCES, column.tolist(), strict=True):
            name = _SUN.get(source, source)
            given[name] = given.get(name, 0.0) + power
        return dict(sorted(given.items(), key=lambda one: -one[1]))

    def _givers(self, sink: str, amount: float) -> list[str]:
        """The sources that feed a sink, the largest first; empty where the table isn't known."""
        fed = self._fed(sink)
        if any(math.isnan(power) for power in fed.values()) or not amount >= LEAST_W:
            return []
        return [name for name, power in fed.items() if power >= max(LEAST_W, _LEAST_SHARE * amount)]

    def _exported(self) -> Phrase:
        grid = self._value["grid"]
        if not self._flows("grid") or grid > 0:
            return Phrase("")
        return Phrase("{power:W} goes to the grid.", power=-grid)

    def _nothing_known(self) -> Phrase:
        name = self._largest_source()
        if not name:
            return Phrase("What flows is not known.")
        source = _AT_START[_SUN.get(name, name)]
        return Phrase("{source} gives {power:W}.", source=source, power=self._value[name])

    def _largest_source(self) -> str:
        given = [name for name in ("generator", "grid", "solar", "solar_ac") if self._flows(name)]
        return max(given, key=lambda one: self._value[one], default="")

    def _not_known(self) -> list[Phrase]:
        streams = self._moment.streams
        unknown = [text for name, text in _UNKNOWN.items() if streams[name].knowledge == "unknown"]
        return [Phrase(text) for text in dict.fromkeys(unknown)]

    def _input(self) -> Phrase:
        generator = self._moment.generator
        if generator.limit_a is None or math.isnan(generator.current) or not self._flows("generator"):
            return Phrase("")
        if any(limit.state == "over" and limit.key.startswith("input") for limit in self._moment.limits):
            return Phrase("")
        return Phrase(
            "The input is at {value:A} of {limit:A}.", value=generator.current, limit=generator.limit_a
        )

    def _silent_sun(self) -> Phrase:
        sun = sum(self._value[name] for name in _SUN if self._flows(name))
        named = any("solar" in self._givers(sink, self._value[sink]) for sink in ("load", "battery"))
        named |= not joined(*self._flowing()) and self._largest_source() in _SUN
        return Phrase("Solar gives {power:W}.", power=sun) if sun and not named else Phrase("")

    def _dc_loads(self) -> Phrase:
        taken = self._value["dc_load"]
        return Phrase("DC loads take {power:W}.", power=taken) if self._flows("dc_load") else Phrase("")

    def _level(self) -> Phrase:
        battery = self._moment.battery
        if math.isnan(battery.soc):
            return Phrase("")
        charging = self._flows("battery") and self._value["battery"] > 0
        if charging and self._flows("generator") and battery.soc < battery.target_soc:
            return Phrase(
                "Battery at {soc:%}, target {target:%}.", soc=battery.soc, target=battery.target_soc
            )
        return Phrase("Battery at {soc:%}.", soc=battery.soc)

    def _unloaded_advice(self) -> Phrase:
        if not self._unloaded() or self._moment.findings:
            return Phrase("")
        if self._relieved_s < COOLED_S:
            return Phrase("Let it cool down for some minutes, then stop it.")
        if self._relieved_s < COOLING_S:
            return Phrase(
                "It has cooled for {ran_on:time}: stop it as its maker says.", ran_on=self._relieved_s
            )
        return Phrase("Let it warm up for some minutes, then connect it.")


def _carrying(carriers: list[str], load: float) -> Phrase:
    if not carriers:
        return Phrase("The house takes {load:W}.", load=load)
    first, rest = _AT_START[carriers[0]], [_WITHIN[name] for name in carriers[1:]]
    if not rest:
        return Phrase("{source} carries {load:W} of house load.", source=first, load=load)
    if len(rest) == 1:
        return Phrase(
            "{first} and {last} carry {load:W} of house load.", first=first, last=rest[0], load=load
        )
    return Phrase(
        "{first}, {second} and {last} carry {load:W} of house load.",
        first=first,
        second=rest[0],
        last=rest[1],
        load=load,
    )


def _charging(chargers: list[str], power: float, *, also: bool) -> Phrase:
    if not chargers:
        return Phrase("The battery charges with {power:W}.", power=power)
    source = _AT_START[chargers[0]]
    if also:
        return Phrase("{source} adds {power:W}.", source=source, power=power)
    if len(chargers) == 1:
        return Phrase("{source} charges the battery with {power:W}.", source=source, power=power)
    return Phrase(
        "{source} and {other} charge the battery with {power:W}.",
        source=source,
        other=_WITHIN[chargers[1]],
        power=power,
    )


def _unaccounted(gap: GapNow) -> Phrase:
    missing, surplus = _UNACCOUNTED[gap.place]
    return Phrase(missing if gap.value > 0 else surplus, missing=abs(gap.value), sd=gap.sd)


def _beyond(limit: LimitNow) -> Phrase:
    low = limit.lower is not None and limit.value < limit.lower
    bound = limit.lower if low else limit.upper
    if bound is None:
        return Phrase("")
    below = template("{label} {value} is below the limit of {bound}.")
    above = template("{label} {value} is above the limit of {bound}.")
    return Phrase(
        below if low else above,
        label=limit.label,
        value=Phrase(f"{{value:{limit.unit}}}", value=limit.value),
        bound=Phrase(f"{{value:{limit.unit}}}", value=bound),
    )


def joined(*sentences: Phrase) -> Phrase:
    """Sentences one after another as one phrase; empty ones are left out."""
    told = [one for one in sentences if one]
    if len(told) <= 1:
        return told[0] if told else Phrase("")
    values: dict[str, Any] = {f"part{number}": one for number, one in enumerate(told)}
    one_after_another = " ".join(f"{{{name}}}" for name in values)
    return Phrase(one_after_another, **values)
