"""The review that figures are told from: with a lying meter put right where that settles what doesn't add up.

Reconciliation shares what a lying meter says among all streams. Where one meter alone is suspected, and the powers
add up once it is put right, energies and pictures are told from the recording as corrected, and say so. Where the
powers don't add up and no correction is known, what rests on them is in doubt.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from desktop.channel_names import CHANNEL_NAMES
from desktop.diagnosis.finding import Finding
from desktop.diagnosis.findings import in_order
from desktop.diagnosis.suspects import Suspect, correctable, corrected
from desktop.diagnosis.suspects.correction import factor_of
from desktop.site import Site
from desktop.words import Phrase, decimal
from recordings.recording import Recording

if TYPE_CHECKING:
    from desktop.review.reviewing import Review

MOSTLY = 0.8
"""The share of rows that must pass the balance for energies to be believed; 95 % pass where all is well."""

_NAMED = "meter_suspect"


@dataclass(frozen=True, slots=True)
class Figures:
    """Which review to tell figures from.

    recorded  the review of what was recorded
    review    the review to tell figures from: that of the recording as corrected, else `recorded`
    put_right the suspect that was corrected; None where nothing was
    in_doubt  True where the powers don't add up, and no correction is known
    """

    recorded: Review
    review: Review
    put_right: Suspect | None = None
    in_doubt: bool = False

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings in order of time: those that remain once the meter is put right, and the meter itself."""
        if self.put_right is None:
            return self.recorded.findings
        named = [one for one in self.recorded.findings if one.kind == _NAMED]
        return in_order([*self.review.findings, *named])

    @property
    def gone(self) -> tuple[Finding, ...]:
        """Findings that the lying meter alone brought about."""
        if self.put_right is None:
            return ()
        left = {one.kind for one in self.findings}
        return tuple(one for one in self.recorded.findings if one.kind not in left)

    @property
    def note(self) -> Phrase:
        """How figures are reckoned, in a sentence to stand beside them; empty where they are as recorded."""
        if self.in_doubt:
            return Phrase("In doubt: the powers don't add up, and no correction is known that sets it right.")
        if self.put_right is None:
            return Phrase("")
        return Phrase(
            "Reckoned {how}; as recorded the powers don't add up.",
            how=correction_phrase(self.put_right),
        )


def figures_of(review: Review, again: Callable[[Recording, Site], Review]) -> Figures:
    """The review to tell a review's figures from.

    again  makes a review of a recording and a site
    """
    share = review.balance.in_balance_share
    # Where nothing can be tested nothing is in doubt, but no correction could be seen to settle anything either.
    failed = share < MOSTLY
    suspects = review.suspects
    if len(suspects) == 1 and suspects[0].clear and correctable(suspects[0]):
        put_right = suspects[0]
        other = again(corrected(review.recording, put_right), review.site)
        now = other.balance.in_balance_share
        if now >= MOSTLY and now > share and not other.suspects:
            return Figures(review, other, put_right)
    return Figures(review, review, in_doubt=failed)


def correction_phrase(suspect: Suspect) -> Phrase:
    """What was done to the readings, to follow "reckoned"."""
    name = CHANNEL_NAMES.get(suspect.channel, "")
    match suspect.fault:
        case "reversed":
            return Phrase("with the sign of {channel} turned", channel=name)
        case "scale" | "one_leg":
            factor = f"{decimal(1 / factor_of(suspect), 2)}"
            return Phrase("with {channel} times {factor}", channel=name, factor=factor)
        case "offset":
            return Phrase("with {offset:W} taken off {channel}", channel=name, offset=suspect.parameter)
        case "stuck":
            return Phrase("without the readings of {channel} that stood still", channel=name)
        case "swapped":
            one, other = (CHANNEL_NAMES[each] for each in suspect.channels)
            return Phrase("with {one} and {other} exchanged", one=one, other=other)
        case "lag":
            return Phrase("with {channel} {late:time} earlier", channel=name, late=suspect.parameter)
        case _:
            return Phrase("as corrected")
