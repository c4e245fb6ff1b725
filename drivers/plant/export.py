"""Built-in scenarios, and simulations written to disk: a recording with its site sheet beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import tomlkit

from drivers.plant.scenario import Scenario
from drivers.plant.simulation import Simulation, simulate
from recordings.errors import UsageError
from recordings.files import write_whole
from recordings.sheets import nearest
from recordings.tables import write_csv

SCENARIOS = Path(__file__).parent / "scenarios"

DEFAULT = "healthy-charge"
"""The scenario whose recording is shown when nothing else is asked for."""


def scenario_names() -> list[str]:
    """The built-in scenarios, the default first."""
    names = sorted(path.stem for path in SCENARIOS.glob("*.toml"))
    return sorted(names, key=lambda name: name != DEFAULT)


def scenario_titles() -> dict[str, str]:
    """What each built-in scenario is about."""
    return {name: scenario(name).title for name in scenario_names()}


def scenario(name_or_path: str | Path) -> Scenario:
    """A built-in scenario by its name, or one from a file. UsageError where there is neither."""
    names = scenario_names()
    if str(name_or_path) in names:
        return Scenario.load(SCENARIOS / f"{name_or_path}.toml")
    if Path(name_or_path).is_file():
        return Scenario.load(name_or_path)
    raise UsageError(
        "no such scenario",
        where=name_or_path,
        mend=f"give a TOML file or a built-in name, {nearest(str(name_or_path), names)}",
    )


def run(
    name_or_path: str | Path,
    csv_path: str | Path,
    seed: int | None = None,
    progress: Callable[[float], None] | None = None,
) -> Simulation:
    """Run a scenario and write its recording and site sheet."""
    _refuse_sheet_as_recording(Path(csv_path))
    simulation = simulate(scenario(name_or_path), seed, progress)
    write(simulation, csv_path)
    return simulation


def write(simulation: Simulation, csv_path: str | Path) -> None:
    """Write the recording to `csv_path`, and the site sheet as .toml of the same name beside it."""
    path = Path(csv_path)
    _refuse_sheet_as_recording(path)
    write_csv(simulation.recording, path)
    write_whole(path.with_suffix(".toml"), simulation.site_toml.encode())


def write_demos(folder: str | Path) -> None:
    """Write the recordings of all built-in scenarios, and an index of them."""
    for name in scenario_names():
        run(name, Path(folder) / f"{name}.csv")
    write_whole(Path(folder) / "index.toml", index_text().encode())


def index_text() -> str:
    """The index of the demo recordings: what each shows, which findings it must give and which it may."""
    index = tomlkit.document()
    index.add("default", tomlkit.item(DEFAULT))
    demos = tomlkit.aot()
    for name in scenario_names():
        of = scenario(name)
        entry = tomlkit.table()
        entry.add("name", name)
        entry.add("title", of.title)
        entry.add("look_for", " ".join(of.look_for.split()))
        entry.add("truth", list(of.expect.findings))
        entry.add("may", list(of.expect.may))
        demos.append(entry)
    index.add("demo", demos)
    return tomlkit.dumps(index)


def _refuse_sheet_as_recording(path: Path) -> None:
    if path.suffix.lower() == ".toml":
        raise UsageError(
            "the site sheet goes to this name", where=path, mend="give the recording a name that ends in .csv"
        )
