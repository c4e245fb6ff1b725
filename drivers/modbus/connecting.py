"""Reaching a host by TCP in slices, so that a stop is heard while names are looked up and hosts don't answer."""

from __future__ import annotations

import os
import select
import socket
import threading
import time
from typing import Any

from drivers.modbus.errors import ConnectionLostError, StoppedError

_SLICE_S = 0.05


def connected(host: str, port: int, timeout_s: float, stopped: threading.Event) -> socket.socket:
    """A connected socket. ConnectionLostError says why there is none; StoppedError once `stopped` is set."""
    deadline = time.monotonic() + timeout_s
    where = f"{host}:{port}"
    reason = "no address of this host can be reached"
    for family, kind, protocol, _, address in _addresses(host, port, deadline, stopped):
        reached = socket.socket(family, kind, protocol)
        try:
            reason = _reach(reached, address, deadline, stopped)
            if not reason:
                reached.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                return reached
        except BaseException:
            reached.close()
            raise
        reached.close()
    raise ConnectionLostError(reason, where=where, mend="check the address, the cable and the device's power")


def _reach(reached: socket.socket, address: Any, deadline: float, stopped: threading.Event) -> str:
    """Why the address can't be reached; "" where it can."""
    reached.setblocking(False)
    try:
        reached.connect(address)
    except (BlockingIOError, InterruptedError):
        pass
    except OSError as error:
        return _words(error.errno, str(error))
    while (left := deadline - time.monotonic()) > 0:
        _, writable, broken = select.select([], [reached], [reached], min(_SLICE_S, left))
        if writable or broken:
            code = reached.getsockopt(socket.SOL_SOCKET, socket.SO_ERROR)
            return _words(code, os.strerror(code)) if code else ""
        if stopped.is_set():
            raise StoppedError
    return "the host doesn't answer"


def _addresses(host: str, port: int, deadline: float, stopped: threading.Event) -> list[Any]:
    try:
        # A numeric address needs no name server, and so no waiting.
        return socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_NUMERICHOST)
    except (OSError, UnicodeError):
        pass
    found: list[Any] = []
    done = threading.Event()

    def look_up() -> None:
        try:
            found.extend(socket.getaddrinfo(host, port, type=socket.SOCK_STREAM))
        except (OSError, UnicodeError):
            pass
        finally:
            done.set()

    # The system's resolver can't be interrupted: it is left behind where it takes too long.
    threading.Thread(target=look_up, name=f"look up {host}", daemon=True).start()
    while not done.wait(_SLICE_S):
        if stopped.is_set():
            raise StoppedError
        if time.monotonic() > deadline:
            break
    if not found:
        raise ConnectionLostError("this host name isn't known", where=host, mend="check the name")
    return list(found)


def _words(code: int | None, otherwise: str) -> str:
    import errno

    return {
        errno.ECONNREFUSED: "nothing listens at this address",
        errno.EHOSTUNREACH: "there is no way to this host",
        errno.ENETUNREACH: "there is no way to this network",
        errno.ETIMEDOUT: "the host doesn't answer",
    }.get(code or 0, otherwise)
