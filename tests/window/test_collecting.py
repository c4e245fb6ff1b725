"""What holds itself is collected between the window's events, in the window's thread, and not elsewhere."""

import gc
import threading
import weakref

from pytestqt.qtbot import QtBot

from desktop.window.collecting import Collecting


class _Held:
    """Holds itself, and tells in which thread it ends."""

    def __init__(self, ended: list[str]) -> None:
        self.itself = self
        self.ended = ended

    def __del__(self) -> None:
        self.ended.append(threading.current_thread().name)


def test_a_thread_collects_nothing_and_the_window_does(qtbot: QtBot) -> None:
    gc.enable()
    collecting = Collecting()
    ended: list[str] = []
    held = weakref.ref(_Held(ended))

    def much() -> None:
        # Each list is looked after by the collector: far more than it waits for before it begins by itself.
        kept = [[n] for n in range(20 * gc.get_threshold()[0])]
        kept.clear()
        for _ in range(20 * gc.get_threshold()[0]):
            _Held([])

    thread = threading.Thread(target=much, name="beside")
    thread.start()
    thread.join()
    assert held() is not None
    qtbot.waitUntil(lambda: held() is None, timeout=5000)
    assert ended == [threading.main_thread().name]
    collecting.end()
    assert gc.isenabled()


def test_it_leaves_off_what_was_off(qtbot: QtBot) -> None:
    gc.disable()
    Collecting().end()
    assert not gc.isenabled()
