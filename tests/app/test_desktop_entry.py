"""The entry in the desktop's menu, in a home of the test's own."""

import shlex
import sys
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest

from desktop.app import main
from desktop.entry import ICON
from desktop.entry.menu import data_home, exec_line, files, own_command, put
from recordings.errors import UsageError, WriteError

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "share"))
    monkeypatch.setattr(sys, "platform", "linux")
    return tmp_path / "share"


def keys(path):
    head, *lines = path.read_text(encoding="utf-8").splitlines()
    assert head == "[Desktop Entry]"
    return dict(line.split("=", 1) for line in lines)


def test_entry_and_icon_are_written_and_removed_again(home, capsys):
    assert main(["desktop-entry"]) == 0
    entry, icon = files(home)
    told = keys(entry)
    assert (told["Type"], told["Name"], told["Icon"]) == ("Application", "Headrace", icon.stem)
    assert icon.read_bytes() == ICON.read_bytes()
    assert str(entry) in capsys.readouterr().out
    assert main(["desktop-entry"]) == 0
    assert main(["desktop-entry", "--remove"]) == 0
    assert not any(path.is_file() for path in home.rglob("*"))
    assert main(["desktop-entry", "--remove"]) == 0
    assert capsys.readouterr().out.endswith("nothing was there to remove\n")


def test_the_entry_starts_this_installation(home):
    main(["desktop-entry"])
    program, *rest = shlex.split(keys(files(home)[0])["Exec"])
    assert Path(program).is_absolute()
    assert Path(program).is_file()
    assert rest[-2:] == ["open", "%F"]


def test_a_stand_alone_program_starts_itself(monkeypatch):
    monkeypatch.setattr(sys, "frozen", True, raising=False)
    monkeypatch.setattr(sys, "executable", "/opt/headrace/headrace")
    assert own_command() == ["/opt/headrace/headrace"]


@pytest.mark.parametrize(
    ("word", "line"),
    [
        ("/opt/my programs/headrace", '"/opt/my programs/headrace"'),
        ("/opt/100%/headrace", '"/opt/100%%/headrace"'),
        ('/opt/"x"', '"/opt/\\\\"x\\\\""'),
        ("/opt/$HOME`ls`", '"/opt/\\\\$HOME\\\\`ls\\\\`"'),
        ("/opt/a\\b", '"/opt/a\\\\\\\\b"'),
    ],
)
def test_paths_are_quoted_as_the_specification_says(word, line):
    """Desktop Entry Specification, "The Exec key", and "Possible value types" for the second escaping."""
    assert exec_line([word]) == line


def test_a_path_with_a_line_break_is_refused():
    with pytest.raises(UsageError, match="no menu entry can name"):
        exec_line(["/opt/a\nExec=evil"])


def test_no_room_is_told_in_one_line(tmp_path):
    (tmp_path / "applications").write_text("in the way")
    with pytest.raises(WriteError, match="can't be made"):
        put(tmp_path, ["headrace"])


def test_a_home_that_is_no_full_path_is_not_used(monkeypatch):
    """XDG Base Directory Specification: relative paths are invalid and ignored."""
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", "share")
    assert data_home() == Path.home() / ".local" / "share"


def test_other_systems_are_told_what_to_do_instead(monkeypatch, capsys):
    monkeypatch.setattr(sys, "platform", "win32")
    assert main(["desktop-entry"]) == 2
    assert "Make a shortcut" in capsys.readouterr().err


def test_the_icon_is_square_and_needs_nothing_from_elsewhere():
    text = ICON.read_text(encoding="utf-8")
    root = ElementTree.fromstring(text)
    assert root.tag == f"{SVG}svg"
    assert root.get("viewBox") == "0 0 64 64"
    assert "href" not in text
    assert root.find(f"{SVG}title") is not None


def test_the_icon_can_be_told_from_its_ground_at_sixteen_pixels(qapp):
    from PySide6.QtCore import QSize
    from PySide6.QtGui import QIcon

    image = QIcon(str(ICON)).pixmap(QSize(16, 16)).toImage()
    assert (image.width(), image.height()) == (16, 16)
    ground, channel, wheel = (image.pixelColor(x, y) for x, y in ((15 // 2, 1), (5, 3), (6, 10)))
    assert channel.lightness() - ground.lightness() > 80
    assert wheel.hue() in range(30, 60)
    assert channel.hue() in range(150, 200)
