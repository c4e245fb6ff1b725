"""Charges made by hand: a set is started, takes the house, charges, is relieved and stopped, when we say so."""

from __future__ import annotations

import numpy as np

from desktop.procedure.course import Course, Standing
from desktop.review import Review, review
from desktop.site import Site
from recordings.recording import Recording

START = 1_767_225_600_000_000_000
SECOND = 1_000_000_000

SITE = Site.model_validate(
    {
        "generator": {"rated_w": 6000, "volts": 230, "hz": 50},
        "charger": {"limit_a": 80},
        "battery": {"chemistry": "lfp", "capacity_kwh": 10, "nominal_v": 51.2, "target_soc": 60},
    }
)


def columns(
    start: float = 60, load: float = 200, relief: float = 500, stop: float = 640, rows: int = 760
) -> dict[str, np.ndarray]:
    """One row a second; the set turns from `start` to `stop`, and carries load from `load` to `relief`."""
    second = np.arange(rows)
    turning = (second >= start) & (second < stop)
    loaded = turning & (second >= load) & (second < relief)
    house = np.full(rows, 400.0)
    converter = np.where(loaded, 3000.0, -house)
    return {
        "generator_power": np.where(loaded, converter + house, 0.0),
        "generator_voltage": np.where(turning, 230.0, 0.0),
        "generator_frequency": np.where(turning, 50.5, 0.0),
        "load_power": house,
        "converter_ac_power": converter,
        "battery_power": np.where(loaded, 2800.0, -450.0),
        "battery_voltage": np.full(rows, 52.0),
        "battery_soc": np.where(second < 450, 50.0, 61.0),
        "battery_temperature": np.full(rows, 20.0),
        "input_limit": np.full(rows, 20.0),
        "charger_enabled": np.ones(rows),
    }


def recorded(channels: dict[str, np.ndarray], step_s: float = 1.0) -> Recording:
    """These rows, `step_s` apart."""
    rows = len(next(iter(channels.values())))
    return Recording.from_columns(START + np.arange(rows) * round(step_s * SECOND), channels)


def reviewed(channels: dict[str, np.ndarray], step_s: float = 1.0, site: Site = SITE) -> Review:
    """The review of these rows."""
    return review(recorded(channels, step_s), site)


def at(course: Course, told: Review, second: float) -> Standing:
    """How the procedure stands so long after the first row."""
    return course.at(told.moment(int(told.recording.time[0]) + round(second * SECOND)))


def done_at(standing: Standing, key: str) -> float | None:
    """When a step was done, in seconds after the first row of the charges here; None where it isn't."""
    state = standing.of(key)
    return (state.at - START) / SECOND if state.done and state.at is not None else None


def states(standing: Standing) -> dict[str, str]:
    """How each step stands."""
    return {each.step.key: each.state for each in standing.steps}
