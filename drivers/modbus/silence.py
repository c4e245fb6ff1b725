"""The silence that ends a frame on a serial line (Modbus over Serial Line V1.02, section 2.5.1.1)."""

from __future__ import annotations


def silences(baud: int, bits: int = 11) -> tuple[float, float]:
    """(t3.5, t1.5) in seconds: between two frames at least, and inside one at most.

    bits  of one character on the line: start, data, parity and stop bits
    Above 19200 baud both are fixed.
    """
    if baud > 19200:
        return 1.75e-3, 0.75e-3
    character = bits / baud
    return 3.5 * character, 1.5 * character
