"""What is dangerous in just this case: one line or two on the first page."""

from __future__ import annotations

from collections.abc import Iterator

from desktop.cautions import GENERATOR, LEAD_ACID, LITHIUM, QUALIFIED
from desktop.charging.battery.chemistry import chemistry_of
from desktop.report.account import Account
from desktop.report.blocks import Paragraph
from desktop.words import template, tr

_TRIPPED = template("A generator that has tripped is hot: let it cool down before you touch or refuel it.")
_EXHAUST = template(
    "Exhaust gas kills without warning: run the generator outdoors only, well away from doors, windows and vents."
)
_BACKFEED = GENERATOR[1]
_MOST = 2

_OF_KIND = (
    (("generator_stopped_under_load",), _TRIPPED),
    (("charging_while_cold",), LITHIUM),
    (("two_sources_live",), _BACKFEED),
    (("legs_unequal", "meter_suspect", "power_unaccounted"), QUALIFIED),
)


def dangers(account: Account) -> Iterator[Paragraph]:
    """The dangers; nothing where none is of this case."""
    told = list(_dangers(account))[:_MOST]
    if told:
        yield Paragraph(" ".join(tr(one) for one in told), tr("Danger:"))


def _dangers(account: Account) -> Iterator[str]:
    review = account.review
    kinds = {kind for one in account.incidents for kind in one.kind}
    yield from (line for those, line in _OF_KIND if kinds & set(those))
    # The advice of a low battery says it already.
    if review.sessions and "battery_low" not in kinds:
        yield _EXHAUST
    chemistry = chemistry_of(review.site.battery)
    if chemistry is not None and chemistry.lead_acid and review.sessions:
        yield LEAD_ACID
