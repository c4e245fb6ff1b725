"""What comes along with the program: one recording with a meter that lies, and eight without."""

from pathlib import Path

import pytest
from suspect_help import named, suspects

from desktop.opening import demos
from desktop.site import Site
from recordings.tables import read_table


@pytest.mark.parametrize("path", [demo.path for demo in demos()], ids=lambda path: path.stem)
def test_the_demos(path: Path):
    found = suspects(read_table(path), Site.load(path.with_suffix(".toml")))
    if path.stem == "reversed-battery-meter":
        assert named(found) == [("battery_power", "reversed")]
        assert found[0].clear
        assert found[0].explains > 0.95
    else:
        assert found == ()
