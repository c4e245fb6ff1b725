"""A Modbus TCP server that answers for the simulated plant. Nothing can be written to it."""

from __future__ import annotations

import asyncio
import socket
import threading
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, cast

from pymodbus.constants import ExcCodes
from pymodbus.pdu import ExceptionResponse, ModbusPDU
from pymodbus.server import ModbusTcpServer
from pymodbus.server.requesthandler import ServerRequestHandler
from pymodbus.simulator import DataType, SimData, SimDevice

from drivers.wire.faults import LATE_S, Faults
from recordings.errors import SourceError

_READS = (3, 4)
_STARTING_S = 10.0


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit id: its registers begin at an address; `registers` gives all of them as they are now."""

    number: int
    begins: int
    registers: Callable[[], list[int]]


class WireServer:
    """Serves units in a thread of its own. Use as a context manager, or call `start` and `stop`.

    address  (host, port) where it listens, once it is started; port 0 takes a free one
    """

    def __init__(self, host: str, port: int, units: Mapping[int, Unit], faults: Faults) -> None:
        self.address = (host, port)
        self._units, self._faults = dict(units), faults
        self._ready = threading.Event()
        self._failed: Exception | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._over: asyncio.Event | None = None
        self._thread = threading.Thread(target=self._run, name="simulated plant", daemon=True)

    def start(self) -> None:
        """Listen. SourceError where that can't be had."""
        self._check_address()
        self._thread.start()
        self._ready.wait(_STARTING_S)
        if self._failed is not None:
            raise self._refused(self._failed)

    def stop(self) -> None:
        """Hang up and listen no more."""
        if self._loop is not None and self._over is not None and self._thread.is_alive():
            self._loop.call_soon_threadsafe(self._over.set)
        self._thread.join(_STARTING_S)

    def __enter__(self) -> WireServer:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def _check_address(self) -> None:
        # The server itself would say that it failed, but not why.
        host, port = self.address
        try:
            family, kind, _, _, place = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
            with socket.socket(family, kind) as probe:
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                probe.bind(place)
        except (OSError, OverflowError) as error:
            raise self._refused(error) from error

    def _refused(self, error: Exception) -> SourceError:
        reason = getattr(error, "strerror", None) or str(error)
        return SourceError(
            f"can't listen: {reason}",
            where="{}:{}".format(*self.address),
            mend="choose another port, such as 5020",
        )

    def _run(self) -> None:
        try:
            asyncio.run(self._serve())
        except (OSError, RuntimeError) as error:
            self._failed = error
        finally:
            self._ready.set()

    async def _serve(self) -> None:
        self._loop, self._over = asyncio.get_running_loop(), asyncio.Event()
        server = _Server(self.address, list(self._units.values()), self._faults)
        await server.serve_forever(background=True)
        self.address = server.listens_at
        self._ready.set()
        await self._over.wait()
        server.hang_up()
        await cast(Any, server).shutdown()


class _Server(ModbusTcpServer):
    """The library's server, with units whose registers are asked for at each request, and with ordered faults."""

    def __init__(self, address: tuple[str, int], units: list[Unit], faults: Faults) -> None:
        super().__init__([_device(unit) for unit in units], address=address)
        self.units = {unit.number for unit in units}
        self.faults = faults
        self.connections: set[_Connection] = set()

    @property
    def listens_at(self) -> tuple[str, int]:
        """(host, port), the real ones."""
        listener: Any = self.transport
        host, port = listener.sockets[0].getsockname()[:2]
        return str(host), int(port)

    def callback_new_connection(self) -> ServerRequestHandler:
        """Who talks to a client that has just come."""
        return _Connection(self)

    def hang_up(self) -> None:
        """End all connections."""
        for connection in list(self.connections):
            connection.close()


class _Connection(ServerRequestHandler):
    """One client. Requests are answered in order, each with its own transaction, however late."""

    def __init__(self, owner: _Server) -> None:
        begin: Any = super().__init__
        begin(owner, None, None, None)
        self._owner = owner
        self._asked: deque[tuple[ModbusPDU, Any]] = deque()
        self._answering = asyncio.Lock()

    def callback_connected(self) -> None:
        super().callback_connected()
        self._owner.connections.add(self)

    def callback_disconnected(self, exc: Exception | None) -> None:
        super().callback_disconnected(exc)
        self._owner.connections.discard(self)

    def callback_data(self, data: bytes, addr: tuple[Any, ...] | None = None) -> int:
        """Bytes from the client: each whole request is kept until its turn."""
        used = 0
        while used < len(data):
            taken: int = super().callback_data(data[used:], addr)
            if self.last_pdu:
                self._asked.append((self.last_pdu, addr))
            if not taken:
                break
            used += taken
        return used

    async def handle_request(self) -> None:
        """Answer the request whose turn it is."""
        async with self._answering:
            if not self._asked:
                return
            asked, addr = self._asked.popleft()
            faults = self._owner.faults
            if faults.holds("drop"):
                self.close()
                return
            if faults.holds("slow"):
                await asyncio.sleep(LATE_S)
            if faults.holds("garbage"):
                self.send(faults.noise(), addr)
                return
            answer = await self._answer(asked)
            answer.transaction_id, answer.dev_id = asked.transaction_id, asked.dev_id
            self.pdu_send(answer, addr)

    async def _answer(self, asked: ModbusPDU) -> ModbusPDU:
        if asked.dev_id not in self._owner.units:
            return ExceptionResponse(asked.function_code, ExcCodes.GATEWAY_NO_RESPONSE)
        if asked.function_code not in _READS:
            return ExceptionResponse(asked.function_code, ExcCodes.ILLEGAL_FUNCTION)
        if self._owner.faults.holds("exception"):
            return ExceptionResponse(asked.function_code, ExcCodes.DEVICE_FAILURE)
        answer: ModbusPDU = await asked.datastore_update(cast(Any, self._owner.context), asked.dev_id)
        return answer


def _device(unit: Unit) -> SimDevice:
    async def refresh(
        _function: int, _begins: int, _address: int, _count: int, held: list[int], _written: object
    ) -> None:
        now = unit.registers()
        held[: len(now)] = now

    first = SimData(unit.begins, values=unit.registers(), datatype=DataType.REGISTERS, readonly=True)
    return SimDevice(id=unit.number, simdata=[first], action=refresh)
