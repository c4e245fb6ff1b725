"""Checks of what is drawn from the generator: the AC input limit, and the charger beside it."""

from __future__ import annotations

import math

from desktop.charging.currents import each_leg
from desktop.diagnosis.plant import Plant
from desktop.diagnosis.settings_check.book import SettingsEvidence
from desktop.diagnosis.settings_check.check import Check, Source, Value, not_known
from desktop.words import Phrase

USUAL_SHARE = 0.8
"""What runs for three hours or more, as charging does, should take no more of a circuit than this: common practice,
no source; local code governs."""

_SAME = 0.02
_LITTLE_ROOM = 0.9
_CHARGED_SHARE = 0.8
_MOST_OFF_SHARE, _LEAST_S = 0.02, 300.0


def _how(plant: Plant) -> Phrase:
    if plant.legs > 1:
        return Phrase(
            "It is a setting of the inverter-charger, among those of its AC input: amperes per leg that it may "
            "draw from the generator. Some have one for the grid and one for the generator: this is the "
            "generator's."
        )
    return Phrase(
        "It is a setting of the inverter-charger, among those of its AC input: amperes that it may draw from the "
        "generator. Some have one for the grid and one for the generator: this is the generator's."
    )


def limit_of(plant: Plant, seen: SettingsEvidence | None) -> tuple[float, Source]:
    """The input limit that was in force: the highest in the recording, else the sheet's."""
    if seen is not None and not math.isnan(seen.limit_most_a):
        return seen.limit_most_a, "measured"
    return plant.limit_a, "given"


def limit_value(plant: Plant, seen: SettingsEvidence | None) -> Value:
    """The same as a value to show."""
    limit, source = limit_of(plant, seen)
    return Value("limit_a", Phrase("AC input limit"), limit, "A", source)


def limit_within_rating(plant: Plant, seen: SettingsEvidence | None) -> Check:
    """The input limit against what the set can carry where it stands."""
    limit, _ = limit_of(plant, seen)
    most = plant.rated_w / (plant.volts * plant.legs)
    values = (
        limit_value(plant, seen),
        Value("rated_w", Phrase("Continuous rating"), plant.plate_w, "W", "given"),
        Value("derated_w", Phrase("What the generator can carry here"), plant.rated_w, "W", "reckoned"),
        Value("most_a", _in_amperes(plant), most, "A", "reckoned"),
    )
    title = Phrase("AC input limit against what the generator can carry")
    if math.isnan(limit) or math.isnan(most):
        means = not_known(
            (Phrase("the input limit"), not math.isnan(limit)),
            (Phrase("the generator's rating"), not math.isnan(plant.rated_w)),
            (Phrase("the generator's voltage"), not math.isnan(plant.volts)),
        )
        return Check("limit_within_rating", "unknown", title, values, means, _how(plant))
    if limit > most:
        means = Phrase(
            "{limit:A} let {through:W} through, more than the {rated:W} that the generator can carry here: "
            "charger and "
            "house together can overload and trip it. At most {most:A}, less some room for load steps.",
            limit=limit,
            through=limit * plant.volts * plant.legs,
            rated=plant.rated_w,
            most=most,
        )
        return Check("limit_within_rating", "fail", title, values, means, _how(plant))
    room = Phrase(" That leaves little room for a load step.") if limit > _LITTLE_ROOM * most else Phrase("")
    means = Phrase(
        "{limit:A} are {share:%} of the {most} that the generator can carry here.{room}",
        limit=limit,
        share=100 * limit / most,
        most=each_leg(most, plant.legs),
        room=room,
    )
    return Check("limit_within_rating", "pass", title, values, means, _how(plant))


def _in_amperes(plant: Plant) -> Phrase:
    return Phrase("The same in amperes per leg") if plant.legs > 1 else Phrase("The same in amperes")


def limit_within_circuit(plant: Plant, seen: SettingsEvidence | None) -> Check:
    """The input limit against wiring and breaker of its circuit, at the share that is usual for hours."""
    limit, _ = limit_of(plant, seen)
    circuit = _known(plant.site.input.circuit_a)
    most = USUAL_SHARE * circuit
    values = (
        limit_value(plant, seen),
        Value("circuit_a", Phrase("Input circuit"), circuit, "A", "given"),
        Value("usual_a", Phrase("{share:%} of it", share=100 * USUAL_SHARE), most, "A", "reckoned"),
    )
    title = Phrase("AC input limit against wiring and breaker of the input circuit")
    how = Phrase(
        "The breaker's amperes stand on its handle; the wiring may be rated for less, and plug and inlet too: the "
        "least of them counts. {share:%} of it for what runs for hours is common practice; local code and a "
        "licensed electrician decide.",
        share=100 * USUAL_SHARE,
    )
    if math.isnan(limit) or math.isnan(circuit):
        means = not_known(
            (Phrase("the input limit"), not math.isnan(limit)),
            (Phrase("what wiring and breaker of the input are rated for"), not math.isnan(circuit)),
        )
        return Check("limit_within_circuit", "unknown", title, values, means, how)
    if limit > most:
        means = Phrase(
            "{limit:A} for hours are {share:%} of a circuit for {circuit:A}: wiring may get hot, and the breaker "
            "may open. {most:A} is what is usual.",
            limit=limit,
            share=100 * limit / circuit,
            circuit=circuit,
            most=most,
        )
        set_to = Phrase("Set it to {most:A} or less.", most=most)
        return Check("limit_within_circuit", "fail", title, values, means, how, set_to)
    means = Phrase("{limit:A} are within the {most:A} that are usual for hours.", limit=limit, most=most)
    return Check("limit_within_circuit", "pass", title, values, means, how)


def limit_as_given(plant: Plant, seen: SettingsEvidence | None) -> Check:
    """The input limit that the device reports against the sheet's."""
    measured = math.nan if seen is None else seen.limit_a
    values = (
        Value("reported_a", Phrase("AC input limit"), measured, "A", "measured"),
        Value("limit_a", Phrase("AC input limit"), plant.limit_a, "A", "given"),
    )
    title = Phrase("AC input limit as on the site sheet")
    if math.isnan(measured) or math.isnan(plant.limit_a):
        means = not_known(
            (Phrase("the limit in the recording"), not math.isnan(measured)),
            (Phrase("the limit on the site sheet"), not math.isnan(plant.limit_a)),
        )
        return Check("limit_as_given", "unknown", title, values, means, _how(plant))
    if abs(measured - plant.limit_a) > max(0.5, _SAME * plant.limit_a):
        means = Phrase(
            "The device reports {reported:A}, the sheet says {given:A}: one of them is out of date. What the "
            "device reports is taken to be right.",
            reported=measured,
            given=plant.limit_a,
        )
        return Check("limit_as_given", "fail", title, values, means, _how(plant))
    means = Phrase("Both say {limit:A}.", limit=measured)
    return Check("limit_as_given", "pass", title, values, means, _how(plant))


def charger_on_with_generator(plant: Plant, seen: SettingsEvidence | None) -> Check:
    """Whether the charger was switched on while the generator ran."""
    title = Phrase("Charger on while the generator runs")
    how = Phrase(
        "It is a switch or a setting of the inverter-charger, apart from its charge current; some can be switched "
        "by a timer or from outside. With the generator running the charge current tells whether it is on."
    )
    if seen is None or not seen.carrying_s > 0:
        means = not_known((Phrase("a recording of a run of the generator"), False))
        return Check("charger_on_with_generator", "unknown", title, (), means, how)
    if not seen.off_known:
        return _charger_seen(seen, title, how)
    values = (
        Value("carrying_s", Phrase("Generator under load"), seen.carrying_s, "s", "measured"),
        Value("charger_off_s", Phrase("Charger off meanwhile"), seen.charger_off_s, "s", "measured"),
    )
    if seen.charger_off_s > max(_LEAST_S, _MOST_OFF_SHARE * seen.carrying_s):
        means = Phrase(
            "For {off:time} of the {carried:time} under load the charger was switched off: the generator ran "
            "without charging.",
            off=seen.charger_off_s,
            carried=seen.carrying_s,
        )
        return Check("charger_on_with_generator", "fail", title, values, means, how)
    means = Phrase("It was on while the generator ran ({carried:time}).", carried=seen.carrying_s)
    return Check("charger_on_with_generator", "pass", title, values, means, how)


def _charger_seen(seen: SettingsEvidence, title: Phrase, how: Phrase) -> Check:
    """Where the charger doesn't report whether it is on, what goes into the battery shows it."""
    values = (
        Value("carrying_s", Phrase("Generator under load"), seen.carrying_s, "s", "measured"),
        Value("charged_s", Phrase("Charged meanwhile"), seen.charged_s, "s", "measured"),
    )
    if seen.charged_s > _CHARGED_SHARE * seen.carrying_s:
        means = Phrase(
            "It was on: the battery was charged for {charged:time} of the {carried:time} under load.",
            charged=seen.charged_s,
            carried=seen.carrying_s,
        )
        return Check("charger_on_with_generator", "pass", title, values, means, how)
    means = not_known((Phrase("a recording in which the charger reports whether it is on"), False))
    return Check("charger_on_with_generator", "unknown", title, values, means, how)


def _known(value: float | None) -> float:
    return math.nan if value is None else float(value)
