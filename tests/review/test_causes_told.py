"""Causes as JSON values and as text."""

import json
from datetime import UTC

import numpy as np

from desktop.diagnosis.causes.chain import Chain, Link
from desktop.review.causes import causes_json, causes_text
from desktop.words import Phrase

AT = 1_767_225_600_000_000_000
CHAIN = Chain(
    "input_over_limit",
    AT,
    (
        Link(AT, "load_step", 1860.0, "W", Phrase("Something of {size:W} was switched on.", size=1860.0)),
        Link(AT + 12_000_000_000, "charger_stayed", np.nan, "s", Phrase("It stayed.")),
    ),
    Phrase("A load step."),
    True,
    (Phrase("The fuel level isn't recorded."),),
)


def test_a_chain_as_strict_json():
    (one,) = json.loads(json.dumps(causes_json([CHAIN]), allow_nan=False))
    assert (one["finding"], one["start"], one["certain"]) == (
        "input_over_limit",
        "2026-01-01T00:00:00Z",
        True,
    )
    assert [link["time"] for link in one["chain"]] == ["2026-01-01T00:00:00Z", "2026-01-01T00:00:12Z"]
    assert [link["value"] for link in one["chain"]] == [1860.0, None]
    assert one["unknown"] == ["The fuel level isn't recorded."]


def test_a_chain_as_lines():
    assert list(causes_text(CHAIN, UTC)) == [
        "What led to it:",
        "  00:00:00  Something of 1.86 kW was switched on.",
        "  00:00:12  It stayed.",
        "  Not known: The fuel level isn't recorded.",
    ]
    assert list(causes_text(Chain("x", AT, (), Phrase("y"), False), UTC)) == []
