"""What the program remembers, and what it does with what it can't read."""

from pathlib import Path

import pytest
from PySide6.QtCore import QByteArray, QSettings

from desktop.window.settings import Opened, Settings


def stored(path: Path) -> Settings:
    return Settings(QSettings(str(path), QSettings.Format.IniFormat))


def test_everything_comes_back(tmp_path):
    one = stored(tmp_path / "s.ini")
    one.theme, one.text_scale, one.motion = "dark", 1.5, False
    one.geometry = QByteArray(b"place")
    one.set_splitter("left", QByteArray(b"split"))
    one.remember([tmp_path / "a.csv", tmp_path / "b.csv"], tmp_path / "s.toml")
    one.save()
    other = stored(tmp_path / "s.ini")
    assert (other.theme, other.text_scale, other.motion) == ("dark", 1.5, False)
    assert other.geometry == QByteArray(b"place")
    assert other.splitter("left") == QByteArray(b"split")
    assert other.folder == str(tmp_path)
    assert other.last_site == str(tmp_path / "s.toml")
    paths = (str(tmp_path / "a.csv"), str(tmp_path / "b.csv"))
    assert other.recent == [Opened(paths, str(tmp_path / "s.toml"))]
    assert other.recent[0].name == "a.csv + 1"


def test_at_first_everything_is_as_the_system_has_it(tmp_path):
    fresh = stored(tmp_path / "s.ini")
    assert (fresh.theme, fresh.text_scale, fresh.motion) == ("system", 1.0, True)
    assert fresh.geometry.isEmpty()
    assert fresh.recent == []


@pytest.mark.parametrize(
    "text",
    [
        "[view]\ntheme=purple\ntext_scale=huge\n[files]\nrecent=nonsense\n",
        '[files]\nrecent="[{}]"\n',
        '[files]\nrecent="[{\\"paths\\": 5, \\"site\\": 1}]"\n',
        "[files]\nrecent=7\n[window]\ngeometry=7\n",
    ],
)
def test_what_cannot_be_read_is_as_if_it_had_never_been_written(text, tmp_path):
    (tmp_path / "s.ini").write_text(text)
    settings = stored(tmp_path / "s.ini")
    assert settings.theme == "system"
    assert settings.text_scale == 1.0
    assert settings.recent == []
    assert settings.geometry.isEmpty()


def test_the_last_ten_are_kept_and_none_twice(tmp_path):
    settings = stored(tmp_path / "s.ini")
    for number in [*range(12), 5]:
        settings.remember([tmp_path / f"{number}.csv"], None)
    names = [each.name for each in settings.recent]
    assert names[:2] == ["5.csv", "11.csv"]
    assert len(names) == len(set(names)) == 10
