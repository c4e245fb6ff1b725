"""What can go wrong with one read, and what each exception code of the protocol means to a person."""

from __future__ import annotations

from dataclasses import dataclass

from recordings.errors import SourceError


class ReadFaultError(SourceError):
    """A read that brought nothing."""


class ConnectionLostError(ReadFaultError):
    """The connection can't be made, or is of no use any more."""


class NoAnswerError(ReadFaultError):
    """Nothing came in time."""


class GarbledError(ReadFaultError):
    """Something came, and it was no answer to the request."""


class RefusedError(ReadFaultError):
    """The device answered with an exception. `code` is the protocol's own."""

    def __init__(self, code: int, where: str = "", asked: str = "") -> None:
        meaning = meaning_of(code)
        about = f" at {asked}" if asked else ""
        super().__init__(f"{meaning.words}{about} (exception {code})", where=where, mend=meaning.mend)
        self.code = code

    def __reduce__(self) -> tuple[object, ...]:
        return type(self), (self.code, self.where)


class StoppedError(Exception):
    """Somebody asked the source to stop while it waited."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """An exception code in words. `passing`: the same request may well succeed in a moment."""

    words: str
    mend: str = ""
    passing: bool = False


_MEANINGS = {
    1: Meaning("the device doesn't offer this kind of register", 'try the other table: "holding" or "input"'),
    2: Meaning("the device has no such register", "check the addresses, counted from 0"),
    3: Meaning("the device refuses a read of this size", "give a smaller max_registers"),
    4: Meaning("the device failed while it answered"),
    5: Meaning("the device needs more time", passing=True),
    6: Meaning("the device is busy", passing=True),
    7: Meaning("the device declines the request"),
    8: Meaning("the device found its memory damaged", "have the device checked"),
    10: Meaning("the gateway has no way to the unit", "check the unit id and the gateway's settings"),
    11: Meaning(
        "the unit behind the gateway doesn't answer", "check the unit id and its wiring", passing=True
    ),
}


def meaning_of(code: int) -> Meaning:
    """The meaning of an exception code (Modbus Application Protocol V1.1b3, section 7)."""
    return _MEANINGS.get(code, Meaning("the device refused for a reason of its own"))
