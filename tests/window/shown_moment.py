"""A moment made by hand, for panels: every state of a limit, a session, a finding that stands."""

import math
from dataclasses import replace

import numpy as np

from desktop.charging.sessions import Session
from desktop.diagnosis.finding import Finding
from desktop.flow.streams import STREAMS
from desktop.review.moment import BatteryNow, GeneratorNow, LimitNow, Moment, StreamNow
from desktop.words import Phrase

SECOND = 1_000_000_000
START = 1_767_225_600 * SECOND


def at(second: int) -> int:
    """An instant so many seconds after the start."""
    return START + second * SECOND


def finding(kind: str, start: int, end: int | None, cause: str = "") -> Finding:
    """A finding between two seconds."""
    title = Phrase(kind.replace("_", " ").capitalize())
    text = Phrase("It went to {peak:A} on a limit of {limit:A}.", peak=27.1, limit=25)
    ends = None if end is None else at(end)
    advice = Phrase("Do something about it.")
    return Finding(
        kind, at(start), ends, "generator_power", 27.1, 25.0, "A", title, text, Phrase(cause), advice
    )


FINDINGS = (
    finding("telemetry_gap", 20, 60),
    finding("generator_frequency_low", 100, 300),
    finding("input_over_limit", 200, 230, "A load came on."),
    finding("generator_lightly_loaded", 500, None),
)

LIMITS = (
    LimitNow("input_current", Phrase("Input current"), 27.1, None, 25.0, 0.0, 31.25, "A", "over"),
    LimitNow("generator_load", Phrase("Generator load"), 95.0, None, 100.0, 0.0, 125.0, "%", "near", True),
    LimitNow("battery_voltage", Phrase("Battery voltage"), 53.1, 44.0, 56.8, 40.0, 60.0, "V", "ok"),
    LimitNow("generator_frequency", Phrase("Frequency"), 47.1, 48.0, 52.0, 45.0, 55.0, "Hz", "over"),
    LimitNow("charge_current", Phrase("Charge current"), math.nan, None, 100.0, 0.0, 125.0, "A", "not known"),
)

SESSION = Session(at(90), at(560), 3910.0, 970.0, 2670.0, 270.0, 440.0, 51.0, 63.0, 0.81, 27.1, "normal")


def moment(**changes: object) -> Moment:
    """The moment, with some of it changed."""
    streams = {name: StreamNow(name, "absent", 0.0, 0.0, math.nan, None) for name in STREAMS}
    streams["solar"] = StreamNow("solar", "measured", 800.0, 20.0, 800.0, 4200.0)
    plain = Moment(
        time=at(210),
        row=210,
        stale=False,
        streams=streams,
        table=np.zeros((5, 5)),
        gaps=(),
        generator=GeneratorNow(True, 230.0, 27.1, 47.1, (), (), 25.0, None, False, False),
        battery=BatteryNow(53.1, 82.0, 63.0, 20.0, 80.0, 20.0),
        limits=LIMITS,
        session=SESSION,
        findings=(FINDINGS[2], FINDINGS[1]),
        severity="act now",
        headline=FINDINGS[2].text,
        detail=Phrase("The generator carries {load:W} of house load.", load=2310),
    )
    return replace(plain, **changes)
