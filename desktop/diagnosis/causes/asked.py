"""What was asked of the generator within a stretch of time, and who asked for it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from desktop.diagnosis.causes.book import CauseEvidence, LoadStep
from desktop.diagnosis.causes.chain import Link
from desktop.diagnosis.causes.habits import LOOKS, Habit
from desktop.diagnosis.causes.seen import Seen
from desktop.diagnosis.plant import Plant
from desktop.words import Phrase, template

COARSE_S = 6.0
"""Rows further apart don't show in which order a load step, the charger and the set came."""

_LOOK_BACK_S = 12.0
_WORTH_SHARE, _WORTH_W = 0.04, 150.0
_ALIKE_SHARE = 0.15
_PEAKS = 1.25

WATCHED_S = 3.0
"""A charger that could be watched for less than this after a step had no time to give way."""

_METERS_SHARE, _METERS_W = 0.05, 60.0
"""Meters of the usual classes differ by no more than this, W and of what is carried."""

_SHOWS_W = 10.0

_SAG_HZ_SHARE, _SAG_V_SHARE = 0.015, 0.02
_DROOP = 0.06


@dataclass(frozen=True, slots=True)
class Stretch:
    """The rows of an overload, with its surroundings.

    rows     from `start` until `end`; before: the calm seconds ahead of the first load step
    steps    load steps upwards that matter, in order; none where the load isn't known
    limit_a, limit_w  the input limit, and what it lets through; rated_w what the set can carry here
    load_w   the most that the house took for longer than a starting motor's peak
    """

    rows: Seen
    before: Seen
    start: int
    end: int
    steps: tuple[LoadStep, ...]
    limit_a: float
    limit_w: float
    rated_w: float
    load_w: float


def stretch(evidence: CauseEvidence, window: Seen, start: int, end: int) -> Stretch:
    """Of the rows from `start` to `end`, what was asked for and by whom."""
    plant = evidence.plant
    look = round(max(_LOOK_BACK_S, 2.2 * plant.interval_s) * 1e9)
    worth = max(_WORTH_W, _WORTH_SHARE * _or_zero(plant.rated_w))
    steps = tuple(
        one for one in evidence.steps if start - look <= one.step.time <= end and one.step.size_w >= worth
    )
    first = min([one.step.time for one in steps] + [start])
    calm = window.between(first - round(max(30.0, 3 * plant.interval_s) * 1e9), first - 1)
    rows = window.between(start, end)
    limit_a = window.between(0, end).last("input_limit")
    limit_a = plant.limit_a if math.isnan(limit_a) else limit_a
    return Stretch(
        rows,
        calm,
        start,
        end,
        steps,
        limit_a,
        limit_a * plant.volts * plant.legs,
        plant.rated_w,
        max((one.step.after_w for one in steps), default=rows.middle("load")),
    )


def limit_link(part: Stretch) -> list[Link]:
    """The input limit against what the set can carry."""
    if math.isnan(part.limit_w):
        return []
    at = int(part.before.time[0]) if len(part.before) else part.start
    if math.isnan(part.rated_w):
        text = Phrase(
            "The input limit of {limit:A} lets {through:W} through.", limit=part.limit_a, through=part.limit_w
        )
    elif part.limit_w > part.rated_w:
        text = Phrase(
            "The input limit of {limit:A} lets {through:W} through, more than the {rated:W} that the generator can "
            "carry here.",
            limit=part.limit_a,
            through=part.limit_w,
            rated=part.rated_w,
        )
    else:
        text = Phrase(
            "The input limit of {limit:A} lets {through:W} through; the generator can carry {rated:W} here.",
            limit=part.limit_a,
            through=part.limit_w,
            rated=part.rated_w,
        )
    return [Link(at, "input_limit", part.limit_a, "A", text)]


def before_link(part: Stretch, plant: Plant) -> list[Link]:
    """How things stood before the first load step."""
    generator = part.before.middle("generator")
    if math.isnan(generator):
        return []
    load, charger = part.before.middle("load"), part.before.middle("converter_ac")
    at = int(part.before.time[-1])
    if generator < plant.carrying_w:
        return _connected(part, plant)
    if math.isnan(load) or math.isnan(charger):
        text = Phrase("The generator carried {generator:W}.", generator=generator)
    elif charger > 0:
        text = Phrase(
            "The generator carried {shares}.", shares=shares_phrase(Shares(generator, load, charger))
        )
    else:
        text = Phrase("The generator carried {generator:W}, all of it for the house.", generator=generator)
    return [Link(at, "before", generator, "W", text)]


@dataclass(frozen=True, slots=True)
class Shares:
    """What the generator carried, and of it what house and charger took, W."""

    generator_w: float
    load_w: float
    charger_w: float

    @property
    def add_up(self) -> bool:
        """False where something else must have fed or taken a part."""
        rest_w = abs(self.generator_w - self.load_w - self.charger_w)
        return rest_w <= _METERS_SHARE * self.generator_w + _METERS_W


def worst_shares(part: Stretch) -> Shares | None:
    """Who took what when the generator carried most while the charger charged; None where that isn't known."""
    rows = part.rows
    if not len(rows) or not math.isfinite(rows.highest("generator")):
        return None
    row = int((rows["generator"] == rows.highest("generator")).argmax())
    found = Shares(*(float(rows[name][row]) for name in ("generator", "load", "converter_ac")))
    return found if found.charger_w > 0 and found.add_up else None


def shares_phrase(shares: Shares) -> Phrase:
    """`5.86 kW: 2.90 kW for the house, 2.96 kW for the charger`, and by what the meters differ where that shows."""
    if not shares.add_up:
        return Phrase(
            "{generator:W}; the house took {load:W}, the charger {charger:W}",
            generator=shares.generator_w,
            load=shares.load_w,
            charger=shares.charger_w,
        )
    rest_w = abs(_shown(shares.generator_w) - _shown(shares.load_w) - _shown(shares.charger_w))
    rest = Phrase("")
    if rest_w > 1.5 * _SHOWS_W:
        rest = Phrase(" (the meters differ by {rest:W})", rest=rest_w)
    return Phrase(
        "{generator:W}: {load:W} for the house, {charger:W} for the charger{rest}",
        generator=shares.generator_w,
        load=shares.load_w,
        charger=shares.charger_w,
        rest=rest,
    )


def _shown(watts: float) -> float:
    """Power as it is read: in steps of 10 W."""
    return _SHOWS_W * round(watts / _SHOWS_W)


def _connected(part: Stretch, plant: Plant) -> list[Link]:
    carrying = part.rows["generator"] > plant.carrying_w
    if not carrying.any():
        return []
    row = int(carrying.argmax())
    power = float(part.rows["generator"][row])
    text = Phrase("The generator, without load until then, was connected and took {power:W}.", power=power)
    return [Link(int(part.rows.time[row]), "connected", power, "W", text)]


def step_links(evidence: CauseEvidence, part: Stretch) -> list[Link]:
    """The load steps, and what the charger did after each."""
    links = []
    for one in part.steps:
        step = one.step
        text = Phrase(
            "Something of {size:W}{peak} was switched on{again}.",
            size=step.size_w,
            peak=at_first(one),
            again=_again(habit_of(evidence, one)),
        )
        links.append(Link(step.time, "load_step", step.size_w, "W", text))
        links += _gave_way(one, evidence.plant)
    return links


def at_first(one: LoadStep) -> Phrase:
    """The peak with which a load started, to follow its power; empty where it hadn't one."""
    step = one.step
    if step.inrush_w < (_PEAKS - 1) * step.size_w:
        return Phrase("")
    return Phrase(" ({peak:W} at first)", peak=step.size_w + step.inrush_w)


def _again(habit: Habit | None) -> Phrase:
    if habit is None:
        return Phrase("")
    if habit.regular and habit.looks:
        return Phrase(
            "; it comes every {every:time} for about {lasts:time}: looks like {looks}",
            every=habit.every_s,
            lasts=habit.lasts_s,
            looks=LOOKS[habit.looks],
        )
    if habit.regular:
        return Phrase(
            "; it comes every {every:time} for about {lasts:time}", every=habit.every_s, lasts=habit.lasts_s
        )
    if habit.looks:
        return Phrase(
            "; it came {times:d} times, for about {lasts:time} each: looks like {looks}",
            times=len(habit.runs),
            lasts=habit.lasts_s,
            looks=LOOKS[habit.looks],
        )
    return Phrase(
        "; it came {times:d} times, for about {lasts:time} each", times=len(habit.runs), lasts=habit.lasts_s
    )


def habit_of(evidence: CauseEvidence, one: LoadStep) -> Habit | None:
    """What comes again that this step belongs to: by its run, else, where it wasn't switched off, by its power."""
    step = one.step
    for habit in evidence.habits:
        if habit.has(step.time):
            return habit
    near = [
        habit for habit in evidence.habits if abs(habit.watts - step.size_w) <= _ALIKE_SHARE * step.size_w
    ]
    return near[0] if len(near) == 1 else None


def _gave_way(one: LoadStep, plant: Plant) -> list[Link]:
    back = one.back_off
    if back is None or plant.interval_s > COARSE_S:
        return []
    if back.began:
        at = one.step.time + round(back.began_s * 1e9)
        text = Phrase(
            "The charger began to give way {delay:time} after that, and had given {given:W} after {settled:time}.",
            delay=back.began_s,
            given=back.given_w,
            settled=back.settled_s,
        )
        if back.began_s < plant.interval_s:
            text = Phrase("The charger gave way at once, by {given:W}.", given=back.given_w)
        return [Link(at, "charger_gave_way", back.began_s, "s", text)]
    if back.watched_s < WATCHED_S:
        return []
    at = one.step.time + round(back.watched_s * 1e9)
    text = Phrase(
        "The charger went on taking {charger:W}: in the {watched:time} that followed it did not give way.",
        charger=back.charger_w,
        watched=back.watched_s,
    )
    return [Link(at, "charger_stayed", back.watched_s, "s", text)]


def peak_links(part: Stretch, plant: Plant) -> list[Link]:
    """The highest current over the limit, the highest power over the rating."""
    links = []
    amperes, power = part.rows["amperes"], part.rows["generator"]
    if len(part.rows) and part.rows.highest("amperes") > part.limit_a:
        peak = part.rows.highest("amperes")
        at = int(part.rows.time[int((amperes == peak).argmax())])
        text = Phrase(
            "The input reached {peak:A}, {share:%} of its limit.", peak=peak, share=100 * peak / part.limit_a
        )
        links.append(Link(at, "input_peak", peak, "A", text))
    if len(part.rows) and part.rows.highest("generator") > part.rated_w:
        most = part.rows.highest("generator")
        at = int(part.rows.time[int((power == most).argmax())])
        shares = worst_shares(part)
        text = Phrase(
            "The generator reached {peak:W}, {share:%} of what it can carry here.",
            peak=most,
            share=100 * most / part.rated_w,
        )
        if shares is not None:
            text = Phrase(
                "The generator reached {share:%} of what it can carry here, {shares}.",
                share=100 * most / part.rated_w,
                shares=shares_phrase(shares),
            )
        links.append(Link(at, "generator_peak", most, "W", text))
    return links


def sag_links(part: Stretch, plant: Plant) -> list[Link]:
    """How far speed and voltage sank, as long as the load hung on."""
    links = []
    # What droop takes from no load to full load is no sag.
    droop = _DROOP if part.before.middle("generator") < plant.carrying_w else 0.0
    for name, unit, share, text in (
        (
            "generator_frequency",
            "Hz",
            _SAG_HZ_SHARE,
            template("Its speed sank from {usual:Hz} to {lowest:Hz}."),
        ),
        ("generator_voltage", "V", _SAG_V_SHARE, template("Its voltage sank from {usual:V} to {lowest:V}.")),
    ):
        usual, lowest = part.before.middle(name), _positive(part.rows, name)
        if lowest < (1 - share - droop) * usual:
            at = int(part.rows.time[int((part.rows[name] == lowest).argmax())])
            kind = "frequency_sank" if unit == "Hz" else "voltage_sank"
            links.append(Link(at, kind, lowest, unit, Phrase(text, usual=usual, lowest=lowest)))
    return links


def _positive(rows: Seen, name: str) -> float:
    values = rows[name][rows[name] > 0]
    return float(values.min()) if values.size else math.nan


def _or_zero(value: float) -> float:
    return 0.0 if math.isnan(value) else value
