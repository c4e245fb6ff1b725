"""Which column of a table is which channel: what was guessed, what a person makes of it, and the rules for that."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from desktop.opening import ac_input_of, rules_of
from desktop.sheet.channels import label
from desktop.sheet.editing import SheetDraft, draft_for
from desktop.site import ColumnRule, Site
from desktop.words import Phrase
from recordings.channels import CHANNELS
from recordings.errors import UnclearError
from recordings.tables import ColumnGuess, TableInspection, inspect_table

_JOINED = " + "


@dataclass(frozen=True, slots=True)
class Use:
    """What a column is used for.

    channel  "" for nothing
    unit     the unit in the file, "" for the one that the header gives
    sign     +1, or -1 where the column counts the other way round, or is the other direction of its channel
    settled  whether it is known what the column is
    told     a person said so
    """

    channel: str = ""
    unit: str = ""
    sign: int = 1
    settled: bool = True
    told: bool = False


@dataclass(frozen=True, slots=True)
class ColumnQuestion:
    """A table whose columns somebody shall look at, or has to.

    paths    what is being opened together; `path` is the table among them that is asked about
    draft    the site sheet that keeps the answer
    error    why the table can't be read, None where it can
    bare     what is guessed without any word from the sheet
    """

    paths: tuple[Path, ...]
    path: Path
    draft: SheetDraft
    inspection: TableInspection
    bare: TableInspection
    day_first: bool | None = None
    error: UnclearError | None = None

    @property
    def site(self) -> Site:
        """The sheet as it is now."""
        return self.draft.site()


def question(
    paths: Sequence[Path],
    site_path: Path | None = None,
    error: UnclearError | None = None,
    day_first: bool | None = None,
) -> ColumnQuestion:
    """Look at what is to be opened. HeadraceError where it is no table, or its sheet is wrong."""
    path = next((each for each in paths if error and error.where.startswith(str(each))), paths[0])
    draft = draft_for(paths, site_path)
    site = draft.site()
    if day_first is None and site.site.dates is not None:
        day_first = site.site.dates == "day first"
    inspection = inspect_table(path, rules=rules_of(site), ac_input=ac_input_of(site))
    bare = inspect_table(path, ac_input=ac_input_of(site)) if site.columns else inspection
    return ColumnQuestion(tuple(paths), path, draft, inspection, bare, day_first, error)


def first_uses(asked: ColumnQuestion) -> dict[int, Use]:
    """Column → what it is used for as long as nobody says otherwise."""
    rules, found = asked.site.columns, asked.inspection
    uses = {}
    for each in found.columns:
        rule = rules.get(each.channel)
        unit = each.read_in if rule is not None and rule.unit is not None else ""
        fits = not each.channel and each.meant in found.unsettled
        uses[each.index] = Use(each.channel, unit, each.sign if each.channel else 1, not fits)
    return uses


def open_channels(asked: ColumnQuestion, uses: Mapping[int, Use]) -> tuple[str, ...]:
    """The channels that several columns fit, and of which nobody has said yet which it is."""
    used = {use.channel for use in uses.values()}
    waiting = {each.meant for each in asked.inspection.columns if not uses[each.index].settled}
    return tuple(name for name in asked.inspection.unsettled if name in waiting and name not in used)


def fault(asked: ColumnQuestion, uses: Mapping[int, Use]) -> Phrase | None:
    """Why no rule can say this; None where one can."""
    for channel, parts in _wanted(asked, uses).items():
        if len(parts) < 2:
            continue
        headers = [_column(asked, part.index).header for part in parts]
        if len(set(headers)) < len(headers) or any(not name or "+" in name for name in headers):
            return Phrase(
                "{channel}: columns that are added up need different headers, without a plus sign.",
                channel=label(channel),
            )
        if len({part.unit for part in parts}) > 1 and any(uses[part.index].unit for part in parts):
            return Phrase("{channel}: columns that are added up need the same unit.", channel=label(channel))
    return None


def rules(asked: ColumnQuestion, uses: Mapping[int, Use]) -> dict[str, ColumnRule]:
    """The rules that the sheet needs so that the table is read like this: as few as do it."""
    wanted, first, guessed = _wanted(asked, uses), _made(asked.inspection), _made(asked.bare)
    stated, unsettled = asked.site.columns, {*asked.bare.unsettled, *asked.inspection.unsettled}
    meant = {each.meant for each in asked.bare.columns}
    whole: dict[str, ColumnRule] = {}
    needed: dict[str, ColumnRule] = {}
    for channel in CHANNELS:
        if channel not in {*wanted, *guessed, *unsettled, *meant}:
            continue
        parts = wanted.get(channel, ())
        kept = channel in stated and channel not in unsettled and parts == first.get(channel, ())
        whole[channel] = (
            stated[channel] if kept else _as_scaled(_rule(asked, channel, parts, uses), stated.get(channel))
        )
        given = any(uses[part.index].unit or uses[part.index].told for part in parts)
        if kept or given or channel in unsettled or parts != guessed.get(channel, ()):
            needed[channel] = whole[channel]
    site = Site(columns=needed)
    read = inspect_table(asked.path, rules=rules_of(site), ac_input=ac_input_of(asked.draft.site()))
    return needed if not read.problem and _made(read) == wanted else whole


def answered(asked: ColumnQuestion, uses: Mapping[int, Use], day_first: bool | None) -> SheetDraft:
    """The sheet with the answer. SheetError where it can't hold it."""
    draft = asked.draft.copy()
    draft.set_rules(rules(asked, uses))
    if day_first is not None:
        draft.set("site", "dates", "day first" if day_first else "month first")
    return draft


@dataclass(frozen=True, slots=True)
class _Part:
    """A column's share of a channel."""

    index: int
    unit: str
    sign: int


_Made = dict[str, tuple[_Part, ...]]


def _made(found: TableInspection) -> _Made:
    """Channel → what it is made of."""
    made: _Made = {}
    for each in found.columns:
        if each.channel:
            part = _Part(each.index, each.read_in, each.sign)
            made[each.channel] = (*made.get(each.channel, ()), part)
    return made


def _wanted(asked: ColumnQuestion, uses: Mapping[int, Use]) -> _Made:
    made: _Made = {}
    for each in asked.inspection.columns:
        use = uses[each.index]
        if use.channel:
            part = _Part(each.index, use.unit or each.unit or CHANNELS[use.channel].unit, use.sign)
            made[use.channel] = (*made.get(use.channel, ()), part)
    return made


def _rule(asked: ColumnQuestion, channel: str, parts: Sequence[_Part], uses: Mapping[int, Use]) -> ColumnRule:
    """The rule that makes a channel of these columns."""
    ahead = [_column(asked, part.index).header for part in parts if part.sign > 0]
    back = [_column(asked, part.index).header for part in parts if part.sign < 0]
    unit = next((uses[part.index].unit for part in parts if uses[part.index].unit), None)
    if ahead and back:
        return ColumnRule(column=_JOINED.join(ahead), unit=unit, less=_JOINED.join(back))
    sign: Literal[1, -1] | None = -1 if back else None
    first = _column(asked, parts[0].index) if parts else None
    if ahead and first is not None and first.meant == channel and first.sign < 0:
        # Without a word, the header's own sign would hold.
        sign = 1
    return ColumnRule(column=_JOINED.join(ahead or back), unit=unit, sign=sign)


def _as_scaled(rule: ColumnRule, before: ColumnRule | None) -> ColumnRule:
    """The rule with the scale and offset that were found for the same columns before."""
    if before is None or (rule.column, rule.less) != (before.column, before.less):
        return rule
    return rule.model_copy(update={"scale": before.scale, "offset": before.offset})


def _column(asked: ColumnQuestion, index: int) -> ColumnGuess:
    return next(each for each in asked.bare.columns if each.index == index)
