"""One connection to one or several devices. It reads registers (function codes 3 and 4), and can do nothing else.

This is the only place that speaks through pymodbus.
"""

from __future__ import annotations

import threading
import time

from pymodbus.exceptions import ConnectionException, ModbusException

from drivers.modbus.address import ModbusAddress
from drivers.modbus.clients import SLICE_S, HoldingReply, SerialClient, TcpClient, Waiting
from drivers.modbus.connecting import connected
from drivers.modbus.errors import (
    ConnectionLostError,
    GarbledError,
    NoAnswerError,
    RefusedError,
    StoppedError,
)
from drivers.modbus.planner import Table

_SETTLING_S = 0.3


class Link:
    """A connection that can be opened, asked for registers, and closed; `stop` may be called from any thread."""

    def __init__(self, address: ModbusAddress, stopped: threading.Event | None = None) -> None:
        self.address = address
        self.name = address.line
        self._stopped = stopped or threading.Event()
        self._waiting = Waiting(self._stopped)
        self._client: TcpClient | SerialClient | None = None
        self._unsettled = False

    @property
    def is_open(self) -> bool:
        """True while the connection is thought to be good."""
        return self._client is not None

    def stop(self) -> None:
        """Make every call that waits, and every later one, raise StoppedError."""
        self._stopped.set()

    def open(self, timeout_s: float = 3.0) -> None:
        """Connect, if that isn't done. ConnectionLostError says why it can't be."""
        if self._client is not None:
            return
        if self._stopped.is_set():
            raise StoppedError
        self._unsettled = False
        if self.address.device:
            self._client = self._serial_port()
            return
        reached = connected(self.address.host, self.address.port, timeout_s, self._stopped)
        self._client = TcpClient(self.address, reached, self._waiting)

    def close(self) -> None:
        """Give the connection up; it can be opened again."""
        client, self._client = self._client, None
        if client is not None:
            client.close()  # type: ignore[no-untyped-call]  # the library doesn't annotate it

    def read(self, unit: int, table: Table, address: int, count: int, timeout_s: float) -> bytes:
        """`count` registers of a unit from an address on (counted from 0), high byte first.

        A ReadFaultError says what went wrong; StoppedError once `stop` was called.
        """
        client = self._client
        if client is None:
            raise ConnectionLostError("not connected", where=self.name)
        if self._unsettled:
            self._settle(client)
        self._waiting.deadline = time.monotonic() + timeout_s
        ask = client.read_holding_registers if table == "holding" else client.read_input_registers
        try:
            reply = ask(address, count=count, device_id=unit)
        except (ConnectionException, OSError) as error:
            self.close()
            raise ConnectionLostError("the connection was closed", where=self.name) from error
        except StoppedError:
            raise
        except ModbusException as error:
            raise self._unanswered(unit, timeout_s) from error
        except (ValueError, LookupError, TypeError, ArithmeticError, AttributeError) as error:
            # The library's decoders trip over some random bytes.
            raise self._unanswered(unit, timeout_s) from error
        function = 3 if table == "holding" else 4
        if reply.function_code == function | 0x80:
            raise RefusedError(
                reply.exception_code, self._where(unit), f"{table} {address}..{address + count - 1}"
            )
        if (
            not isinstance(reply, HoldingReply)
            or reply.function_code != function
            or len(reply.data) != 2 * count
        ):
            raise self._unanswered(unit, timeout_s)
        return reply.data

    def _where(self, unit: int) -> str:
        return f"{self.name} unit {unit}"

    def _unanswered(self, unit: int, timeout_s: float) -> NoAnswerError | GarbledError:
        """The fault of a request that brought no answer, after seeing that the next one isn't spoilt by it."""
        numbered = self.address.framing == "tcp"
        self._unsettled = not numbered
        if not self._waiting.heard:
            return NoAnswerError(f"no answer within {timeout_s:.3g} s", where=self._where(unit))
        if numbered:
            # Where the stream has lost its frames, only a new connection finds them again.
            self.close()
        return GarbledError("what came was no answer to the request", where=self._where(unit))

    def _settle(self, client: TcpClient | SerialClient) -> None:
        """Let a late answer go by: a frame without a number can't be told from the next one's answer."""
        give_up = time.monotonic() + 10 * _SETTLING_S
        quiet_since = time.monotonic()
        while (now := time.monotonic()) - quiet_since < _SETTLING_S:
            self._waiting.deadline = now + SLICE_S
            try:
                heard = client.recv(None)
            except OSError as error:
                self.close()
                raise ConnectionLostError("the connection was closed", where=self.name) from error
            if heard:
                quiet_since = time.monotonic()
            if now > give_up:
                self.close()
                raise ConnectionLostError(
                    "the line is never silent", where=self.name, mend="check its wiring"
                )
        self._unsettled = False

    def _serial_port(self) -> SerialClient:
        import serial

        try:
            return SerialClient(self.address, self._waiting)
        except (OSError, ValueError, serial.SerialException) as error:
            reason = getattr(error, "strerror", None) or str(error)
            raise ConnectionLostError(
                f"the serial port can't be opened: {reason}",
                where=self.address.device,
                mend="check that it is plugged in, that no other program uses it, and who may use it",
            ) from error
