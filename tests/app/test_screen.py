"""Whether a window can be shown is found out without ending the process."""

import socket

from desktop.screen import missing_screen


def test_an_invisible_platform_is_no_screen():
    assert "offscreen" in missing_screen({"QT_QPA_PLATFORM": "offscreen"}, "linux")


def test_no_display_at_all():
    assert "DISPLAY" in missing_screen({}, "linux")


def test_a_display_that_nobody_serves():
    assert missing_screen({"DISPLAY": ":977"}, "linux") == "no X server answers at :977"
    assert missing_screen({"DISPLAY": "nonsense"}, "linux") == "no X server answers at nonsense"


def test_a_served_display_is_found_by_its_socket(monkeypatch):
    monkeypatch.setattr("ctypes.util.find_library", lambda name: "libxcb-cursor.so.0")
    with socket.create_server(("127.0.0.1", 0)) as server:
        number = server.getsockname()[1] - 6000
        assert missing_screen({"DISPLAY": f"127.0.0.1:{number}"}, "linux") == ""


def test_other_systems_always_have_one():
    assert missing_screen({}, "darwin") == ""
    assert missing_screen({"WAYLAND_DISPLAY": "wayland-0"}, "linux") == ""
