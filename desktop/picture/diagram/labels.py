"""The words beside the channels."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from desktop.picture.diagram.flows import Flow
from desktop.review.moment import GeneratorNow, Moment
from desktop.words import Phrase, template

NAMES: dict[str, str] = {
    "grid": template("Grid"),
    "generator": template("Generator"),
    "solar_ac": template("Solar"),
    "solar": template("Solar"),
    "load": template("House loads"),
    "dc_load": template("DC loads"),
    "battery": template("Battery"),
    "loss": template("Losses"),
}

_SUNS = {"solar": template("Solar DC"), "solar_ac": template("Solar AC")}

WIDEST_VALUE = Phrase("{value:W}", value=88_880.0)
"""No value of a household is shown wider: columns are laid out for this one, so that they don't move."""

_OVER = {"generator": ("input_current", "generator_load"), "battery": ("charge_current",)}
"""The limits whose excess puts a stream in alarm."""


@dataclass(frozen=True, slots=True)
class Label:
    """A name, a value, and details, the most important first; `alarm` where a limit of it is exceeded."""

    name: str
    value: str
    details: tuple[str, ...]
    alarm: bool
    known: bool


def label(moment: Moment, flow: Flow, *, both_suns: bool = False, untold: Collection[str] = ()) -> Label:
    """What is told beside a channel.

    both_suns   there is solar on both sides
    untold      "limit", "level", "target": what is not written in the picture itself
    """
    name = _SUNS[flow.stream] if both_suns and flow.stream in _SUNS else NAMES[flow.stream]
    value = Phrase("{value:W}", value=flow.watts if flow.known else math.nan)
    details = [str(one) for one in _details(moment, flow, untold) if one]
    return Label(str(Phrase(name)), str(value), tuple(details), alarmed(moment, flow.stream), flow.known)


def alarmed(moment: Moment, stream: str) -> bool:
    """True where a limit of the stream is exceeded."""
    return any(over(moment, key) for key in _OVER.get(stream, ()))


def over(moment: Moment, key: str) -> bool:
    """True where a limit is exceeded, on any leg."""
    held = (one for one in moment.limits if one.key == key or one.key.startswith(f"{key}_l"))
    return any(one.state == "over" for one in held)


def _details(moment: Moment, flow: Flow, untold: Collection[str]) -> Iterator[Phrase]:
    if flow.stream == "grid":
        yield from _direction(flow, template("import"), template("export"))
    elif flow.stream == "battery":
        yield from _of_battery(moment, flow, untold)
    elif flow.stream == "generator":
        yield from _of_generator(moment.generator, flow, untold)
    else:
        yield _of_rating(flow)
    if moment.streams[flow.stream].knowledge == "computed":
        yield Phrase("worked out")


def _of_generator(generator: GeneratorNow, flow: Flow, untold: Collection[str]) -> Iterator[Phrase]:
    if generator.running is False:
        yield Phrase("stopped")
        yield _of_rating(flow)
        return
    if generator.running and flow.known and flow.still:
        yield Phrase("runs without load")
    if not generator.legs_unequal:
        yield _of_rating(flow)
    if generator.legs_unequal and len(generator.leg_currents) > 1:
        for leg, current in enumerate(generator.leg_currents, start=1):
            yield Phrase("L{leg:d} {current:A}", leg=leg, current=current)
    else:
        yield _quantity("{value:A}", generator.current)
    if "limit" in untold and generator.limit_a is not None:
        yield Phrase("limit {limit:A}", limit=generator.limit_a)
    yield _quantity("{value:Hz}", generator.frequency)
    yield _quantity("{value:V}", generator.voltage)


def _of_battery(moment: Moment, flow: Flow, untold: Collection[str]) -> Iterator[Phrase]:
    battery = moment.battery
    if "level" in untold:
        yield _quantity("{value:%}", battery.soc)
    yield from _direction(flow, template("charging"), template("discharging"))
    yield _quantity("{value:V}", battery.voltage)
    yield _quantity("{value:A}", abs(battery.current))
    if "target" in untold:
        yield Phrase("target {soc:%}", soc=battery.target_soc)


def _direction(flow: Flow, forward: str, backward: str) -> Iterator[Phrase]:
    if flow.known and not flow.still:
        yield Phrase(forward if flow.forward else backward)
    elif flow.known:
        yield Phrase("at rest")


def _of_rating(flow: Flow) -> Phrase:
    about, exactly = template("of about {rated:W}"), template("of {rated:W}")
    return Phrase(about if flow.capacity_assumed else exactly, rated=flow.capacity)


def _quantity(template: str, value: float) -> Phrase:
    return Phrase(template, value=value) if math.isfinite(value) else Phrase("")
