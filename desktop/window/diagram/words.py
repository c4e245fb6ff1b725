"""What a screen reader says of the flow diagram: the sentence, then every stream with its number."""

from __future__ import annotations

from desktop.picture.diagram.flows import flows
from desktop.picture.diagram.labels import NAMES, label
from desktop.review.moment import Moment
from desktop.words import Phrase


def spoken(moment: Moment) -> str:
    """The moment in words."""
    told = [str(moment.headline), str(moment.detail)]
    shown = flows(moment)
    both = "solar" in shown and "solar_ac" in shown
    for name in NAMES:
        if name in shown:
            words = label(moment, shown[name], both_suns=both, untold=("level", "target", "limit"))
            told.append(f"{words.name}: {', '.join((words.value, *words.details))}.")
    told += [
        str(Phrase("{unaccounted:W±} not accounted for.", unaccounted=(gap.value, gap.sd)))
        for gap in moment.gaps
        if gap.significant
    ]
    return " ".join(one for one in told if one)
