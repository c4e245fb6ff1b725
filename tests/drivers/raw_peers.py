"""Peers that speak on a bare socket, and a proxy that looks at everything that passes."""

from __future__ import annotations

import contextlib
import socket
import struct
import threading
from collections.abc import Callable, Iterator

Answer = Callable[[socket.socket, bytes], bool]
"""Takes a connection and a request; False hangs up."""


class Peer:
    """What a test knows of a peer: its port, every request that came, and how many connections there were."""

    def __init__(self) -> None:
        self.port = 0
        self.requests: list[bytes] = []
        self.connections = 0


@contextlib.contextmanager
def peer(answer: Answer, request_bytes: int = 12) -> Iterator[Peer]:
    """Listen on a free port and answer each request by `answer`. A read has 12 bytes by TCP, 8 by RTU."""
    listener = socket.create_server(("127.0.0.1", 0))
    about, threads, open_ones = Peer(), [], []
    about.port = listener.getsockname()[1]

    def serve(connection: socket.socket) -> None:
        with contextlib.suppress(OSError), connection:
            while request := connection.recv(request_bytes, socket.MSG_WAITALL):
                about.requests.append(request)
                if not answer(connection, request):
                    return

    def accept() -> None:
        with contextlib.suppress(OSError):
            while True:
                connection, _ = listener.accept()
                about.connections += 1
                open_ones.append(connection)
                thread = threading.Thread(target=serve, args=(connection,), daemon=True)
                threads.append(thread)
                thread.start()

    accepting = threading.Thread(target=accept, daemon=True)
    accepting.start()
    try:
        yield about
    finally:
        with contextlib.suppress(OSError):
            listener.shutdown(socket.SHUT_RDWR)
        listener.close()
        for connection in open_ones:
            with contextlib.suppress(OSError):
                connection.shutdown(socket.SHUT_RDWR)
        for thread in (accepting, *threads):
            thread.join(5)
            assert not thread.is_alive()


def reply(request: bytes, *words: int, transaction: int | None = None, unit: int | None = None) -> bytes:
    """A sound Modbus TCP answer to a read, or one with another transaction or unit id."""
    number, _, _, asked, function = struct.unpack_from(">HHHBB", request)
    data = struct.pack(f">B{len(words)}H", 2 * len(words), *words)
    head = (number if transaction is None else transaction, 0, len(data) + 2)
    return struct.pack(">HHHBB", *head, asked if unit is None else unit, function) + data


def refusal(request: bytes, code: int) -> bytes:
    """A Modbus TCP exception."""
    number, _, _, unit, function = struct.unpack_from(">HHHBB", request)
    return struct.pack(">HHHBBB", number, 0, 3, unit, function | 0x80, code)


@contextlib.contextmanager
def proxy(port: int) -> Iterator[tuple[int, bytearray]]:
    """A proxy to a server on the loopback: (its port, every byte that any client has sent)."""
    listener = socket.create_server(("127.0.0.1", 0))
    sent, sockets = bytearray(), [listener]

    def pump(source: socket.socket, target: socket.socket, keep: bool) -> None:
        with contextlib.suppress(OSError):
            while data := source.recv(65536):
                if keep:
                    sent.extend(data)
                target.sendall(data)
        with contextlib.suppress(OSError):
            target.shutdown(socket.SHUT_WR)

    def accept() -> None:
        with contextlib.suppress(OSError):
            while True:
                client, _ = listener.accept()
                server = socket.create_connection(("127.0.0.1", port))
                sockets.extend((client, server))
                for source, target, keep in ((client, server, True), (server, client, False)):
                    threading.Thread(target=pump, args=(source, target, keep), daemon=True).start()

    threading.Thread(target=accept, daemon=True).start()
    try:
        yield listener.getsockname()[1], sent
    finally:
        for each in sockets:
            with contextlib.suppress(OSError):
                each.shutdown(socket.SHUT_RDWR)
            each.close()


def function_codes(sent: bytes) -> list[int]:
    """The function codes of the Modbus TCP requests in a client's bytes; every byte must belong to one."""
    codes, at = [], 0
    while at < len(sent):
        _, protocol, length, _, code = struct.unpack_from(">HHHBB", sent, at)
        assert protocol == 0
        assert length == 6, "a read has six bytes after its length, and nothing else is ever sent"
        codes.append(code)
        at += 6 + length
    assert at == len(sent)
    return codes
