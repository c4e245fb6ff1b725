"""The walls between the rooms, seen from outside: what is imported where, and what lies at the top."""

import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]

_BLOCKED = """
import importlib, pkgutil, sys

class Wall:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("PySide6", "shiboken6", "pyqtgraph"):
            raise ImportError(name + " must not be needed here")

sys.meta_path.insert(0, Wall())
seen = []
for top in ("recordings", "drivers", "desktop"):
    package = importlib.import_module(top)
    seen.append(top)
    for module in pkgutil.walk_packages(package.__path__, top + "."):
        if module.name.startswith(("desktop.window", "desktop.report.pdf")):
            continue
        importlib.import_module(module.name)
        seen.append(module.name)
print(len(seen))
"""


def python(code: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code], check=False, capture_output=True, text=True, cwd=TOP, timeout=120
    )


def test_everything_below_the_window_imports_without_qt():
    done = python(_BLOCKED)
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) > 30


@pytest.mark.parametrize(
    "heavy", ["numpy", "pyarrow", "pydantic", "PySide6", "pyqtgraph", "pymodbus", "serial"]
)
def test_the_command_line_alone_imports_nothing_heavy(heavy):
    done = python(f"import desktop.app, sys; desktop.app._parser(); print({heavy!r} in sys.modules)")
    assert done.stdout.strip() == "False", done.stderr


def test_the_top_level_holds_the_three_floors_and_their_papers_only():
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        capture_output=True,
        text=True,
        cwd=TOP,
        check=True,
    )
    tops = {line.split("/")[0] for line in listed.stdout.splitlines()}
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "desktop", "drivers", "recordings", "tests"}
    assert {top for top in tops if not top.startswith(".")} <= allowed


def test_no_module_is_longer_than_a_person_reads_in_one_go():
    lengths = {
        str(path.relative_to(TOP)): len(path.read_text(encoding="utf-8").splitlines())
        for top in ("desktop", "drivers", "recordings")
        for path in (TOP / top).rglob("*.py")
    }
    assert not {path: length for path, length in lengths.items() if length > 500}


def test_constraints_hold_exact_versions_only():
    lines = (TOP / ".ci" / "constraints.txt").read_text(encoding="utf-8").split()
    assert lines
    assert all(line.count("==") == 1 and ";" not in line for line in lines)
