"""The threads that watching and connecting run in."""

import threading

_OURS = ("watching", "reader of", "opening a source", "looking for devices", "learning anew")


def threads() -> list[threading.Thread]:
    """Those that are alive."""
    return [each for each in threading.enumerate() if each.name.startswith(_OURS)]
