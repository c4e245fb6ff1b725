"""1,000 courses of 60 days in five-minute steps under one rule, beside a plain loop over one course at a time.

Run: python tests/bench/bench_outlook.py [COURSES]
"""

from __future__ import annotations

import sys
from pathlib import Path

from side_by_side import seconds, told

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "shared"))
from outlook_plants import plant, varied_days
from plain_plant import plain_run

from desktop.charging.outlook.candidates import candidates
from desktop.charging.outlook.draw import draw
from desktop.charging.outlook.rule import Rule
from desktop.charging.outlook.simulate import simulate

COURSES = 1000
HORIZON = 60
FEW = 200


def main() -> None:
    """Print seconds and ratios."""
    courses = int(sys.argv[1]) if len(sys.argv) > 1 else COURSES
    of, when, rule = plant(store=600.0), varied_days(count=14), Rule(25, 80, 20)
    draws = draw(when, runs=courses, horizon=HORIZON, first_date=20_014, seed=1)
    series = (when.load, when.dc_load, when.sun_dc, when.sun_ac)
    rows = [list(zip(*(one[day].tolist() for one in series), strict=True)) for day in draws.day[:, 0]]
    plain = seconds(lambda: plain_run(of, rows, rule, start_soc=60), 2) * courses
    ours = seconds(lambda: simulate(of, when, draws, [rule], start_soc=60), 2)
    told(f"{courses} courses of {HORIZON} days, one rule", ours, "plain loop, one course × courses", plain)
    rules = candidates(of, 20.0)
    few = draw(when, runs=FEW, horizon=HORIZON, first_date=20_014, seed=1)
    many = seconds(lambda: simulate(of, when, few, rules, start_soc=60), 1)
    plain = plain / courses * FEW * len(rules)
    told(
        f"{FEW} courses of {HORIZON} days, {len(rules)} rules",
        many,
        "plain loop, one course × courses",
        plain,
    )


if __name__ == "__main__":
    main()
