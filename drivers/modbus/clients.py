"""The library's own clients, made to wait in slices: each can be told to stop, and keeps its deadline."""

from __future__ import annotations

import contextlib
import logging
import select
import socket
import threading
import time
from typing import Any

import serial
from pymodbus.client import ModbusSerialClient, ModbusTcpClient
from pymodbus.exceptions import ModbusIOException
from pymodbus.framer import FramerBase, FramerType
from pymodbus.pdu.register_message import ReadHoldingRegistersResponse, ReadInputRegistersResponse

from drivers.modbus.address import ModbusAddress
from drivers.modbus.errors import StoppedError
from drivers.modbus.silence import silences

# What the library has to say is told through the errors of this package, once and in one line.
logging.getLogger("pymodbus").addHandler(logging.NullHandler())

SLICE_S = 0.05
"""The longest wait that nothing interrupts, s."""

_TIMEOUT_NEVER_USED = 3600.0


class HoldingReply(ReadHoldingRegistersResponse):
    """An answer to a read whose registers stay the bytes that they came as: they are decoded once, by type."""

    data = b""

    def decode(self, data: bytes) -> None:
        """Take the registers. An answer that isn't as long as it says is refused."""
        if len(data) != 1 + data[0] or data[0] % 2:
            raise ModbusIOException("an answer of a wrong length")
        self.data = data[1:]

    def __str__(self) -> str:
        return f"{type(self).__name__} of {len(self.data)} bytes"


class InputReply(HoldingReply):
    """The same for input registers."""

    function_code = ReadInputRegistersResponse.function_code


def understand_reads_only(framer: FramerBase) -> None:
    """Let a client's framer know answers to reads, and exceptions, and nothing else."""
    framer.decoder.pdu_table = {reply.function_code: (reply, reply) for reply in (HoldingReply, InputReply)}


class Waiting:
    """What both kinds of client share: the deadline of the request, and whether anything was heard."""

    def __init__(self, stopped: threading.Event) -> None:
        self.stopped = stopped
        self.deadline = 0.0
        self.heard = False

    def slice(self) -> float:
        """The next wait, s; 0 once the deadline is over. StoppedError where somebody asked to stop."""
        if self.stopped.is_set():
            raise StoppedError
        return min(SLICE_S, max(0.0, self.deadline - time.monotonic()))


class TcpClient(ModbusTcpClient):
    """Modbus TCP, or RTU frames through TCP, on a socket that is connected already."""

    def __init__(self, address: ModbusAddress, connected: socket.socket, waiting: Waiting) -> None:
        self._drain_first = address.framing == "rtu"
        super().__init__(
            address.host,
            port=address.port,
            framer=FramerType.RTU if address.framing == "rtu" else FramerType.SOCKET,
            timeout=_TIMEOUT_NEVER_USED,
            retries=0,
        )
        understand_reads_only(self.framer)
        connected.setblocking(False)
        self.socket = connected
        self.waiting = waiting

    def connect(self) -> bool:
        """True while the socket is open; it is never opened anew behind the caller's back."""
        return self.socket is not None

    def send(self, request: bytes, addr: tuple[Any, ...] | None = None) -> int:
        """Send a request. What lies about from earlier is dropped where frames carry no number."""
        if self._drain_first and self.socket is not None:
            with contextlib.suppress(BlockingIOError, InterruptedError):
                while self.socket.recv(4096):
                    pass
        self.waiting.heard = False
        return int(super().send(request, addr))

    def recv(self, size: int | None) -> bytes:
        """What has come, at most 4096 bytes; b"" when the deadline is over."""
        while self.socket is not None and (wait := self.waiting.slice()) > 0:
            if select.select([self.socket], [], [], wait)[0]:
                data = self.socket.recv(4096)
                if not data:
                    raise ConnectionResetError("closed by the other side")
                self.waiting.heard = True
                return data
        return b""


class SerialClient(ModbusSerialClient):
    """Modbus RTU on a serial port that keeps the silence between frames."""

    def __init__(self, address: ModbusAddress, waiting: Waiting) -> None:
        super().__init__(
            address.device,
            baudrate=address.baud,
            parity=address.parity,
            stopbits=address.stopbits,
            timeout=_TIMEOUT_NEVER_USED,
            retries=0,
        )
        understand_reads_only(self.framer)
        bits = 9 + address.stopbits + (address.parity != "N")
        self._silence = silences(address.baud, bits)[0]
        self._last = 0.0
        self.waiting = waiting
        self.socket = serial.Serial(
            address.device,
            baudrate=address.baud,
            parity=address.parity,
            stopbits=address.stopbits,
            timeout=SLICE_S,
            write_timeout=1.0,
            exclusive=True,
        )

    def connect(self) -> bool:
        """True while the port is open."""
        return self.socket is not None

    def send(self, request: bytes, addr: tuple[Any, ...] | None = None) -> int:
        """Send a request after the silence that ends the frame before."""
        left = self._last + self._silence - time.monotonic()
        if left > 0:
            time.sleep(left)
        self.waiting.heard = False
        return super().send(request, addr)

    def recv(self, size: int | None) -> bytes:
        """What has come; b"" when the deadline is over."""
        while self.socket is not None and (wait := self.waiting.slice()) > 0:
            self.socket.timeout = wait
            first = bytes(self.socket.read(1))
            if first:
                self.waiting.heard = True
                self._last = time.monotonic()
                return first + bytes(self.socket.read(self.socket.in_waiting))
        return b""
