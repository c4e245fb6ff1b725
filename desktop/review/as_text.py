"""A review as text for people, in the site's time zone."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from datetime import tzinfo
from typing import TYPE_CHECKING, Any

from desktop.channel_names import CHANNEL_NAMES
from desktop.charging.energy import Amount, Energy
from desktop.charging.sessions import Session
from desktop.diagnosis.causes.chain import Link
from desktop.diagnosis.finding import Finding
from desktop.flow.streams import SINKS, SOURCES
from desktop.review.advice import advice_text
from desktop.review.advised import limit_set
from desktop.review.battery import battery_text
from desktop.review.brief_over import brief_over
from desktop.review.causes import causes_text
from desktop.review.checks import checks_text
from desktop.review.corrected import MOSTLY
from desktop.review.course import carriers_text, target_phrase
from desktop.review.forecast import forecast_text
from desktop.review.fuel import fuel_text
from desktop.review.reading_told import not_understood, reading_told
from desktop.review.suspects import suspects_text
from desktop.review.verdict import tally, verdict
from desktop.words import NOT_KNOWN, Phrase, duration, energy_spread, local, template, tr
from recordings.errors import printable

if TYPE_CHECKING:
    from desktop.review.reviewing import Review

LEAST_WH = 5.0
"""Less than this is not worth a line."""

LEAST_S = 60.0
"""A shorter time without a reading is not worth a word beside an energy."""

_FROM = {
    "generator": template("From the generator"),
    "grid": template("From the grid"),
    "solar": template("From solar"),
    "solar_ac": template("From solar (AC)"),
    "battery": template("From the battery"),
}
_TO = {
    "load": template("{power:Wh} to the house"),
    "dc_load": template("{power:Wh} to DC loads"),
    "battery": template("{power:Wh} to the battery"),
    "grid": template("{power:Wh} to the grid"),
    "losses": template("{power:Wh} to losses"),
}
_STOPS = {
    "normal": template("The generator was relieved of its load before it stopped."),
    "under load": template("It stopped under load."),
    "dry tank": template("It stopped with a dry tank."),
    "unclear": template("How it stopped is not known."),
    "still running": template("It is still running."),
}
_SEVERITIES = {"act now": template("Act now"), "attend": template("Attend"), "note": template("Note")}
_UNITS = {
    "rated_w": "W",
    "idle_w": "W",
    "floor_w": "W",
    "volts": "V",
    "nominal_v": "V",
    "absorb_v": "V",
    "float_v": "V",
    "hz": "Hz",
    "limit_a": "A",
    "circuit_a": "A",
    "cut_off_soc": "%",
    "cut_off_v": "V",
    "max_charge_a": "A",
    "air_c": "°C",
    "min_charge_c": "°C",
    "max_charge_c": "°C",
    "reserve_soc": "%",
    "target_soc": "%",
}


def as_text(review: Review) -> str:
    """Several paragraphs, without a line break at the end.

    Where a lying meter could be put right, energies and all that follows from them are told as corrected.
    """
    figures = review.figures
    told = figures.review
    parts = (
        _recorded(review),
        _comes_to(review),
        _energies(told),
        _sessions(told),
        carriers_text(told),
        _findings(figures.findings, told),
        list(suspects_text(review.suspects)),
        list(checks_text(told.checks)),
        _headed(template("Forecast"), forecast_text(told.forecast, review.site.zone)),
        _headed(template("Fuel"), fuel_text(told.fuel)),
        _headed(template("Battery"), battery_text(told.battery)),
        advice_text(told.limit_advice, limit_set(told)),
        _assumed(review),
        reading_told(review.recording.provenance),
    )
    return "\n\n".join("\n".join(lines) for lines in map(list, parts) if lines)


def _headed(heading: str, lines: Iterable[str]) -> Iterator[str]:
    told = list(lines)
    if told:
        yield tr(heading)
        yield from (f"  {line}" for line in told)


def _comes_to(review: Review) -> Iterator[str]:
    unclear = not_understood(review.recording.provenance)
    if unclear is not None:
        yield str(unclear)
    yield str(verdict(review))
    yield from (str(phrase) for phrase in [tally(review.findings)] if phrase)
    yield from _balanced(review)


def _balanced(review: Review) -> Iterator[str]:
    share = review.balance.in_balance_share
    if math.isnan(share):
        yield tr("Whether the powers add up can't be checked: no power is metered twice.")
    elif share >= MOSTLY:
        yield str(Phrase("The powers add up in {share:%} of the rows.", share=100 * share))
    elif review.figures.put_right is None:
        yield str(
            Phrase(
                "The powers add up in {share:%} of the rows only: the energies below are in doubt.",
                share=100 * share,
            )
        )
    else:
        yield str(Phrase("The powers add up in {share:%} of the rows only.", share=100 * share))
        yield str(review.figures.note)


def _recorded(review: Review) -> Iterator[str]:
    recording, zone = review.recording, review.site.zone
    name = review.site.site.name or recording.provenance.name
    if name:
        yield printable(name)
    if not len(recording):
        yield tr("Nothing is recorded.")
        return
    first, last = int(recording.time[0]), int(recording.time[-1])
    yield str(
        Phrase(
            "Recorded from {start} to {end} ({place}), {length:time}: {rows:d} rows, one every {interval:time}.",
            start=_date(first, zone),
            end=_date(last, zone),
            place=review.site.site.timezone,
            length=(last - first) / 1e9,
            rows=len(recording),
            interval=review.interval_s,
        )
    )
    channels = "; ".join(tr(CHANNEL_NAMES[channel]) for channel in recording.channels)
    yield str(Phrase("Channels: {channels}.", channels=channels))
    yield from _repaired(review)


def _repaired(review: Review) -> Iterator[str]:
    mended = review.recording.provenance.repairs
    told = (
        (mended.duplicates, Phrase("{count:d} duplicate rows were left out.", count=mended.duplicates)),
        (mended.out_of_order, Phrase("{count:d} rows were put in order.", count=mended.out_of_order)),
        (mended.bad_cells, Phrase("{count:d} cells could not be read.", count=mended.bad_cells)),
    )
    yield from (str(phrase) for count, phrase in told if count)
    if review.gaps:
        lost = sum(end - start for start, end in review.gaps) / 1e9
        yield str(
            Phrase("There are {count:d} gaps of {lost:time} in all.", count=len(review.gaps), lost=lost)
            if len(review.gaps) > 1
            else Phrase("There is one gap of {lost:time}.", lost=lost)
        )


def _energies(review: Review) -> Iterator[str]:
    if len(review) < 2:
        return
    books = review.energy
    rows: list[tuple[str, Amount]] = [
        (template("Generator"), books.forward["generator"]),
        (template("From the grid"), books.forward["grid"]),
        (template("To the grid"), books.backward["grid"]),
        (template("Solar"), books.solar),
        (template("House loads"), books.forward["load"]),
        (template("DC loads"), books.forward["dc_load"]),
        (template("Into the battery"), books.forward["battery"]),
        (template("Out of the battery"), books.backward["battery"]),
        (template("Losses"), books.forward["loss"]),
        (template("Unaccounted"), books.unaccounted),
    ]
    yield tr("Energy")
    for name, amount in rows:
        if not (abs(amount.wh) < LEAST_WH and books.covers(amount)) or name == "Unaccounted":
            yield _line(tr(name), _known_amount(books, amount))
    yield from _ways(review)
    if books.unknown_s > 0:
        yield "  " + str(Phrase("For {lost:time} at least one of these is not known.", lost=books.unknown_s))


def _known_amount(books: Energy, amount: Amount) -> str:
    if not books.covers(amount):
        return tr(NOT_KNOWN)
    text, missed = energy_spread(amount.wh, amount.sd), books.missed_s(amount)
    if not missed > LEAST_S or math.isnan(amount.wh):
        return text
    return str(Phrase("{amount}, not known for {missed:time}", amount=text, missed=missed))


def _ways(review: Review) -> Iterator[str]:
    table = review.energy.table
    for row, source in enumerate(SOURCES):
        shares = [
            str(Phrase(_TO[sink], power=float(table[row, column])))
            for column, sink in enumerate(SINKS)
            if table[row, column] >= LEAST_WH
        ]
        if shares:
            yield "  " + str(Phrase("{source}: {shares}.", source=_FROM[source], shares=", ".join(shares)))


def _sessions(review: Review) -> Iterator[str]:
    if not review.sessions:
        return
    yield tr("Charge sessions")
    for session in review.sessions:
        yield from _session(review, session)


def _session(review: Review, session: Session) -> Iterator[str]:
    zone = review.site.zone
    yield "  " + str(
        Phrase(
            "{start} to {end}, {length:time}: {gave:Wh} from the generator.",
            start=_date(session.start, zone),
            end=_date(session.end, zone),
            length=(session.end - session.start) / 1e9,
            gave=session.generator_wh,
        )
    )
    yield "    " + str(
        Phrase(
            "{load:Wh} to the house, {battery:Wh} to the battery, {lost:Wh} lost.",
            load=session.to_load_wh,
            battery=session.to_battery_wh,
            lost=session.losses_wh,
        )
    )
    for phrase in _session_facts(session):
        yield "    " + str(phrase)
    for told in (brief_over(review, session), target_phrase(review, session)):
        if told is not None:
            yield f"    {told}"


def _session_facts(session: Session) -> Iterator[Phrase]:
    if session.solar_to_battery_wh >= LEAST_WH:
        yield Phrase("{sun:Wh} came from the sun to the battery.", sun=session.solar_to_battery_wh)
    if math.isfinite(session.soc_start) and math.isfinite(session.soc_end):
        yield Phrase("State of charge {start:%} to {end:%}.", start=session.soc_start, end=session.soc_end)
    if math.isfinite(session.mean_load_share):
        yield Phrase(
            "Mean load {share:%} of what the generator can carry.", share=100 * session.mean_load_share
        )
    if math.isfinite(session.peak_input_a):
        yield Phrase("Highest input current {peak:A}.", peak=session.peak_input_a)
    yield Phrase(_STOPS[session.stop])


def _findings(findings: Sequence[Finding], review: Review) -> Iterator[str]:
    if not findings:
        return
    yield tr("Findings")
    chains = {(chain.finding, chain.start): chain for chain in review.chains}
    zone = review.site.zone
    told: set[tuple[Link, ...]] = set()
    for finding in findings:
        yield from _finding(finding, zone)
        chain = chains.get((finding.kind, finding.start))
        if chain is None:
            continue
        if chain.links in told:
            yield "    " + tr("The same led to it.")
        else:
            yield from (f"    {line}" for line in causes_text(chain, zone))
        told.add(chain.links)


def _finding(finding: Finding, zone: tzinfo) -> Iterator[str]:
    length = tr("still standing")
    if finding.end is not None:
        length = duration((finding.end - finding.start) / 1e9)
    head = f"{_date(finding.start, zone)}, {length}"
    yield f"  [{tr(_SEVERITIES[finding.severity])}] {head}: {finding.title}"
    for phrase in (finding.text, finding.cause, finding.advice):
        if str(phrase):
            yield f"    {phrase}"


def _assumed(review: Review) -> Iterator[str]:
    assumed = [
        f"  {section}.{key} = {_shown(key, value)}"
        for section, key, value, source in review.site.items()
        if source == "assumed" and section != "site"
    ]
    conversion = review.conversion
    if conversion.source != "fitted":
        assumed.append(
            "  "
            + str(
                Phrase(
                    "conversion loss = {idle:W} + {slope:%} of the power through it",
                    idle=conversion.idle_w,
                    slope=100 * conversion.slope,
                )
            )
        )
    if assumed:
        yield tr("Assumed, where the site sheet doesn't say")
        yield from assumed


def _shown(key: str, value: Any) -> str:
    return str(Phrase(f"{{value:{_UNITS.get(key, '')}}}", value=value))


def _line(name: str, value: str) -> str:
    return f"  {name:<20} {value}"


def _date(nanoseconds: int, zone: tzinfo) -> str:
    return local(nanoseconds, zone).strftime("%Y-%m-%d %H:%M:%S")
