"""The built wheel: everything that the program reads beside its code is in it, and it works by itself."""

import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
FLOORS = ("desktop", "drivers", "recordings")
BUILD = "import sys; from setuptools.build_meta import build_wheel; print(build_wheel(sys.argv[1]))"
CODE = {".py"}
SOURCES = {".po", ".cfg", ".pyc"}
"""What the program is made with and doesn't read."""


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """Built as pip builds it, from a copy, with what is installed already: nothing is fetched."""
    folder = tmp_path_factory.mktemp("wheel")
    source = folder / "source"
    source.mkdir()
    for name in FLOORS:
        shutil.copytree(TOP / name, source / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(TOP / name, source)
    done = subprocess.run(
        [sys.executable, "-c", BUILD, str(folder)], cwd=source, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return folder / done.stdout.splitlines()[-1]


def there(top):
    return {
        path.relative_to(top).as_posix()
        for floor in FLOORS
        for path in (top / floor).rglob("*")
        if path.is_file() and path.suffix not in SOURCES
    }


def test_the_wheel_holds_every_file_that_the_program_reads(wheel):
    with zipfile.ZipFile(wheel) as archive:
        names = {name for name in archive.namelist() if name.startswith(FLOORS)}
    assert there(TOP) - names == set()
    assert {Path(name).suffix for name in names} >= CODE | {".csv", ".toml", ".mo", ".svg", ".jinja"}


def test_the_wheel_holds_nothing_else(wheel):
    with zipfile.ZipFile(wheel) as archive:
        tops = {name.split("/")[0] for name in archive.namelist()}
    assert {name for name in tops if not name.endswith(".dist-info")} == set(FLOORS)


@pytest.mark.slow
def test_the_wheel_works_from_an_environment_of_its_own(wheel, tmp_path):
    """Its dependencies are those of this environment; the program itself is the wheel's."""
    home = tmp_path / "env"
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", str(home)], check=True)
    packages = next(home.rglob("site-packages"))
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(packages)
    mine = [each for each in sys.path if "site-packages" in each]
    (packages / "others.pth").write_text("\n".join(mine))
    python = home / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    variables = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    variables["QT_QPA_PLATFORM"] = "offscreen"

    def run(*arguments):
        done = subprocess.run(
            [python, "-m", "desktop.app", *arguments],
            cwd=tmp_path,
            env=variables,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    assert (
        str(home)
        in subprocess.run(
            [python, "-c", "import desktop; print(desktop.__file__)"],
            cwd=tmp_path,
            env=variables,
            capture_output=True,
            text=True,
            check=True,
        ).stdout
    )
    assert "review" in run("--help")
    demo = packages / "recordings" / "demo" / "load-step.csv"
    assert "Energie" in run("review", str(demo), "--language", "de", "--png", "w.png")
    assert (tmp_path / "w.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    run("pack", str(demo), "--to", "f.zip", "--report")
    assert "Heron Mill" in run("review", "f.zip")
