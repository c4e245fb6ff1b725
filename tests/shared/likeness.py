"""The same JSON but for the last digits of sums."""

from __future__ import annotations

import pytest


def close(found: object, expected: object, path: str = "review", rel: float = 1e-9) -> None:
    """Asserts that both are of the same shape and types, with floats within `rel`, or 1e-9."""
    assert type(found) is type(expected), path
    if isinstance(expected, dict) and isinstance(found, dict):
        assert found.keys() == expected.keys(), path
        for key in expected:
            close(found[key], expected[key], f"{path}.{key}", rel)
    elif isinstance(expected, list) and isinstance(found, list):
        assert len(found) == len(expected), path
        for number, pair in enumerate(zip(found, expected, strict=True)):
            close(*pair, f"{path}[{number}]", rel)
    elif isinstance(expected, float):
        assert found == pytest.approx(expected, rel=rel, abs=1e-9), path
    else:
        assert found == expected, path
