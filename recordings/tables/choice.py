"""Which column becomes which channel: guesses are ranked, ties are refused, the user's rules come first."""

from __future__ import annotations

import difflib
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from recordings.channels import CHANNELS, POWERS
from recordings.errors import UnclearColumnsError
from recordings.provenance import ColumnReading
from recordings.tables.guesses import EXACT, MINUS, PLUS, WHOLE, Guess, guess
from recordings.tables.headings import Heading
from recordings.tables.rules import ColumnRule
from recordings.tables.surroundings import Surroundings
from recordings.tables.units import Unit, fits, unit_of

_SI = {"": Unit("", "other")} | {
    unit: found for unit in ("W", "V", "A", "Hz", "%", "°C") if (found := unit_of(unit))
}


@dataclass(frozen=True, slots=True)
class Term:
    """One column's share of a channel: the column, its unit, and the half of a two-way stream that it is."""

    heading: Heading
    unit: Unit
    part: str = WHOLE


@dataclass(frozen=True, slots=True)
class Plan:
    """How a channel is made: the sum of its terms, PLUS terms against MINUS terms, times `sign`.

    unit_assumed  a power whose header gives no unit
    one_way       a two-way stream of which the table holds one direction only
    scale, offset  by the site sheet: multiplied and then added, in the channel's unit
    told, own     by the site sheet or the channel's own name; by the channel's own name: a file of ours
    """

    channel: str
    terms: tuple[Term, ...]
    sign: int
    how: str
    unit_assumed: bool = False
    one_way: bool = False
    told: bool = False
    own: bool = False
    scale: float = 1.0
    offset: float = 0.0

    def reading(self) -> ColumnReading:
        """What the recording tells about this channel."""
        names = " + ".join(term.heading.text for term in self.terms)
        return ColumnReading(names, self.terms[0].unit.name, self.sign, self.how)


@dataclass(frozen=True, slots=True)
class Choice:
    """All plans, and every guess there was, by channel."""

    plans: dict[str, Plan]
    guesses: dict[str, list[Guess]]
    taken: frozenset[int]


def choose(
    path: str,
    headings: Sequence[Heading],
    numeric: Mapping[int, float],
    around: Surroundings,
    rules: Mapping[str, ColumnRule],
) -> Choice:
    """Settle every channel.

    headings  the columns that hold no stamps
    numeric   column → how well its sample reads as numbers, 0..1; columns that don't are left alone
    around    what the headers tell about one another
    """
    plans = {
        channel: ruled(path, channel, rule, headings, around)
        for channel, rule in rules.items()
        if rule.column
    }
    taken = {term.heading.index for plan in plans.values() for term in plan.terms}
    guesses: dict[str, list[Guess]] = {}
    for heading in headings:
        found = guess(heading, around) if numeric.get(heading.index, 0) > 0 else None
        if found and heading.index not in taken and found.channel not in rules:
            guesses.setdefault(found.channel, []).append(found)
    _refuse_open(path, [each for found_ones in guesses.values() for each in found_ones if each.open])
    for channel, found_ones in guesses.items():
        plans[channel] = _best(path, channel, found_ones, numeric)
    taken |= {term.heading.index for plan in plans.values() for term in plan.terms}
    ordered = {channel: plans[channel] for channel in CHANNELS if channel in plans}
    return Choice(ordered, guesses, frozenset(taken))


def _refuse_open(path: str, open_ones: Sequence[Guess]) -> None:
    """UnclearColumnsError where an AC input may be the generator or the grid."""
    if not open_ones:
        return
    names = [quoted(each.heading.text) for each in sorted(open_ones, key=lambda each: each.heading.index)]
    one = next((each for each in open_ones if each.channel in POWERS), open_ones[0])
    column = quoted(one.heading.text)
    told = (
        f"columns {', '.join(names[:-1])} and {names[-1]} are" if len(names) > 1 else f"column {names[0]} is"
    )
    either = f", or grid_power = {{ column = {column} }}" if one.channel == "generator_power" else ""
    raise UnclearColumnsError(
        f"{told} of an AC input, which may be the generator or the grid",
        where=path,
        mend=f"say which in the site sheet: [columns] {one.channel} = {{ column = {column} }}{either}",
    )


def require_power(path: str, choice: Choice, headings: Sequence[Heading]) -> None:
    """UnclearColumnsError where no column is a power, telling which columns there are."""
    if any(channel in POWERS for channel in choice.plans) or derivable(choice.plans):
        return
    names = ", ".join(heading.text for heading in headings if heading.text)
    if any(heading.unit is not None and heading.unit.quantity == "energy" for heading in headings):
        raise UnclearColumnsError(
            "no column of power found, only counters of energy or charge",
            where=path,
            expected="powers in W or kW",
            found=names,
            mend="export the powers too",
        )
    raise UnclearColumnsError(
        "no column of power found",
        where=path,
        expected="a header such as Generator power [W], Load [kW] or PV (W)",
        found=names or "no named columns",
        mend='name one in the site sheet: [columns] load_power = { column = "…", unit = "W" }',
    )


def derivable(channels: Iterable[str]) -> list[str]:
    """Channels of volts and amperes of one place, which make up its power."""
    names = list(channels)
    found = []
    for place in ("generator", "battery"):
        volts = [name for name in names if name.startswith(f"{place}_voltage")]
        amperes = [name for name in names if name.startswith(f"{place}_current")]
        found += [*volts, *amperes] if volts and amperes else []
    return found


def ruled(
    path: str, channel: str, rule: ColumnRule, headings: Sequence[Heading], around: Surroundings
) -> Plan:
    """A channel as the user wants it. UnclearColumnsError where the column or the unit can't be that."""
    if channel not in CHANNELS:
        near = difflib.get_close_matches(channel, CHANNELS, 1)
        raise UnclearColumnsError(
            f"[columns] names no channel {channel}",
            where=path,
            mend=f"write {near[0]}" if near else "use a channel of the vocabulary",
        )
    if rule.sign not in (None, 1, -1):
        raise UnclearColumnsError(
            f"[columns] {channel}: sign can't be used", where=path, expected="1 or -1", found=rule.sign
        )
    chosen = _named(path, channel, rule.column, headings)
    halves = [(heading, PLUS if rule.less else WHOLE) for heading in chosen]
    if rule.less:
        halves += [(heading, MINUS) for heading in _named(path, channel, rule.less, headings)]
    terms = tuple(Term(heading, _ruled_unit(path, channel, rule, heading), part) for heading, part in halves)
    sign, signed = rule.sign, ""
    if sign is None and rule.less:
        sign = 1
    if sign is None:
        meant = guess(chosen[0], around)
        sign = meant.sign if meant and meant.channel == channel else 1
        signed = "; sign by the header" if sign < 0 else ""
    scale, offset = 1.0 if rule.scale is None else rule.scale, rule.offset or 0.0
    _refuse_unusable(path, channel, scale, offset)
    how = f"by the site sheet{signed}{_mended(scale, offset, CHANNELS[channel].unit)}"
    return Plan(channel, terms, sign, how, told=True, scale=scale, offset=offset)


def _refuse_unusable(path: str, channel: str, scale: float, offset: float) -> None:
    if not math.isfinite(scale) or scale == 0:
        raise UnclearColumnsError(
            f"[columns] {channel}: scale can't be used", where=path, expected="a number but 0", found=scale
        )
    if not math.isfinite(offset):
        raise UnclearColumnsError(
            f"[columns] {channel}: offset can't be used", where=path, expected="a number", found=offset
        )


def _mended(scale: float, offset: float, unit: str) -> str:
    times = f"; times {scale:g}" if scale != 1.0 else ""
    return times + (f"; {offset:+g} {unit}" if offset else "")


def _ruled_unit(path: str, channel: str, rule: ColumnRule, heading: Heading) -> Unit:
    unit = unit_of(rule.unit) if rule.unit is not None else heading.unit
    wanted = CHANNELS[channel].unit
    if rule.unit is not None and unit is None:
        raise UnclearColumnsError(
            f"[columns] {channel}: unknown unit",
            where=path,
            expected=f"a unit such as {wanted}",
            found=rule.unit,
        )
    if unit is not None and not fits(unit, wanted):
        raise UnclearColumnsError(
            f'[columns] {channel}: the unit of column "{heading.text}" can\'t become {wanted}',
            where=path,
            found=unit.name,
            mend=f"name another column, or give its unit: {channel} = {{ column = "
            f'{quoted(heading.text)}, unit = "{wanted}" }}',
        )
    return unit or _SI[wanted]


def _named(path: str, channel: str, wanted: str, headings: Sequence[Heading]) -> list[Heading]:
    """The columns that a rule names: one header, or several joined by " + "."""
    found = matching(wanted, headings)
    if len(found) == 1:
        return found
    if not found and "+" in wanted:
        parts = [matching(part, headings) for part in wanted.split("+")]
        if all(len(part) == 1 for part in parts):
            return [part[0] for part in parts]
    if len(found) > 1:
        raise UnclearColumnsError(
            f"[columns] {channel}: {len(found)} columns have this header",
            where=path,
            found=wanted,
            mend="give them different headers in the file",
        )
    near = difflib.get_close_matches(wanted, [heading.text for heading in headings], 1, 0.4)
    raise UnclearColumnsError(
        f"[columns] {channel}: no column has this header",
        where=path,
        found=wanted,
        mend=f'write "{near[0]}"' if near else "write the header as it stands in the file",
    )


def matching(wanted: str, headings: Sequence[Heading]) -> list[Heading]:
    """The columns that a person means by a header as they write it."""
    plain = " ".join(wanted.split())
    if not plain:
        return []
    return (
        [heading for heading in headings if heading.text == plain]
        or [heading for heading in headings if heading.text.casefold() == plain.casefold()]
        or [heading for heading in headings if heading.name.casefold() == plain.casefold()]
    )


def _best(path: str, channel: str, guesses: list[Guess], numeric: Mapping[int, float]) -> Plan:
    """The best way to make a channel from its guesses."""
    exact = [each for each in guesses if each.score >= EXACT]
    if exact:
        return replace(_single(path, channel, exact, numeric), told=True, own=True)
    wholes = [each for each in guesses if each.part == WHOLE]
    halves = {part: [each for each in guesses if each.part == part] for part in (PLUS, MINUS)}
    signed = [each for each in wholes if each.signed]
    if halves[PLUS] and halves[MINUS] and not signed:
        return _two_halves(path, channel, halves, numeric)
    if wholes:
        return _source(path, channel, wholes, numeric)
    return replace(_source(path, channel, halves[PLUS] or halves[MINUS], numeric), one_way=True)


def _two_halves(
    path: str, channel: str, halves: Mapping[str, list[Guess]], numeric: Mapping[int, float]
) -> Plan:
    plus = _source(path, channel, halves[PLUS], numeric)
    minus = _source(path, channel, halves[MINUS], numeric)
    terms = [Term(term.heading, term.unit, PLUS) for term in plus.terms]
    terms += [Term(term.heading, term.unit, MINUS) for term in minus.terms]
    how = f"{plus.how}; less the other direction {minus.how}"
    return Plan(channel, tuple(terms), 1, how, plus.unit_assumed or minus.unit_assumed)


def _source(path: str, channel: str, guesses: list[Guess], numeric: Mapping[int, float]) -> Plan:
    """One direction of a channel: a total where there is one, else legs or numbered parts added up."""
    summed = channel in POWERS
    totals = [each for each in guesses if not (summed and each.leg) and each.heading.number is None]
    if totals:
        return _single(path, channel, totals, numeric)
    legs = [each for each in guesses if summed and each.leg]
    if legs:
        return _summed(path, channel, legs, numeric, "leg")
    return (
        _summed(path, channel, guesses, numeric, "number")
        if summed
        else _single(path, channel, guesses, numeric)
    )


def _summed(path: str, channel: str, guesses: list[Guess], numeric: Mapping[int, float], by: str) -> Plan:
    groups: dict[int, list[Guess]] = {}
    for each in guesses:
        groups.setdefault(each.leg if by == "leg" else each.heading.number or 0, []).append(each)
    parts = [_single(path, channel, groups[key], numeric) for key in sorted(groups)]
    what = "legs" if by == "leg" else "parts"
    how = f"{parts[0].how}; the sum of {len(parts)} {what}" if len(parts) > 1 else parts[0].how
    if len(parts) == 1 and by == "leg":
        how += "; no other leg is in the file"
    terms = tuple(term for part in parts for term in part.terms)
    return Plan(channel, terms, parts[0].sign, how, any(part.unit_assumed for part in parts))


def _single(path: str, channel: str, guesses: list[Guess], numeric: Mapping[int, float]) -> Plan:
    """The one column with the strongest evidence. UnclearColumnsError where two are equally strong."""

    def strength(each: Guess) -> float:
        return each.score + 10 * numeric.get(each.heading.index, 0.0)

    ranked = sorted(guesses, key=lambda each: (-strength(each), each.heading.index))
    best = ranked[0]
    for other in ranked[1:]:
        lead = strength(best) - strength(other)
        # Between two headers that both have words nobody knows, having fewer of them says nothing.
        strangers = best.heading.unknown and other.heading.unknown
        if lead < 0.5 or (strangers and lead < 0.5 + best.strangeness - other.strangeness):
            raise _tied(path, channel, best, other)
    unit = best.heading.unit or _SI[CHANNELS[channel].unit]
    assumed = best.heading.unit is None and best.score < EXACT and channel in POWERS
    return Plan(channel, (Term(best.heading, unit),), best.sign, best.how, assumed)


def _tied(path: str, channel: str, one: Guess, other: Guess) -> UnclearColumnsError:
    names = f'"{one.heading.text}" and "{other.heading.text}"'
    if one.heading.text == other.heading.text:
        return UnclearColumnsError(
            f"two columns for {channel} have the same header",
            where=path,
            found=one.heading.text,
            mend="give them different headers in the file",
        )
    mend = f"say which in the site sheet: [columns] {channel} = {{ column = {quoted(one.heading.text)} }}"
    if channel in POWERS or channel.endswith("_current"):
        both = f"{one.heading.text} + {other.heading.text}"
        mend += f", or both where they add up: {{ column = {quoted(both)} }}"
    return UnclearColumnsError(
        f"two columns fit {channel} equally well: {names}",
        where=path,
        mend=mend,
    )


def quoted(text: str) -> str:
    """A header as a site sheet writes it."""
    return json.dumps(text, ensure_ascii=False)


def unused(headings: Iterable[Heading], taken: frozenset[int]) -> list[str]:
    """Headers that became no channel."""
    return [heading.text for heading in headings if heading.index not in taken and heading.text]
