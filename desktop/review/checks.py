"""Checks of the settings as JSON values and as lines for people."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Any

from desktop.diagnosis.settings_check.check import SOURCE_NAMES, STATE_NAMES, Check, Value
from desktop.review.json_values import number
from desktop.words import Phrase, template, tr

_SHOWN: dict[str, str] = {
    "A": template("{label}: {value:A} ({source})"),
    "W": template("{label}: {value:W} ({source})"),
    "Wh": template("{label}: {value:Wh} ({source})"),
    "V": template("{label}: {value:V} ({source})"),
    "%": template("{label}: {value:%} ({source})"),
    "°C": template("{label}: {value:°C} ({source})"),
    "s": template("{label}: {value:time} ({source})"),
}


def checks_json(checks: Iterable[Check]) -> list[dict[str, Any]]:
    """One object per check."""
    return [
        {
            "key": check.key,
            "state": check.state,
            "title": str(check.title),
            "values": {
                value.name: {"value": number(value.value), "unit": value.unit, "source": value.source}
                for value in check.values
            },
            "means": str(check.means),
            "set_to": str(check.set_to) or None,
            "how": str(check.how),
        }
        for check in checks
    ]


def checks_text(checks: Iterable[Check]) -> Iterator[str]:
    """What failed first and in full, with how to set it; then what passed and what isn't known."""
    every = list(checks)
    if not every:
        return
    yield tr("Settings")
    for state in ("fail", "pass", "unknown"):
        for check in (one for one in every if one.state == state):
            head = f"  [{tr(STATE_NAMES[check.state])}] {check.title}"
            if state == "unknown":
                yield f"{head}. {check.means}"
                continue
            yield head
            yield f"    {check.means}"
            if state == "fail":
                yield from (
                    f"    {value_text(value)}" for value in check.values if math.isfinite(value.value)
                )
                yield f"    {check.how}"


def value_text(value: Value) -> str:
    """A value with what it is and where it comes from."""
    return str(
        Phrase(_SHOWN[value.unit], label=value.label, value=value.value, source=SOURCE_NAMES[value.source])
    )
