"""Inverses of many small symmetric matrices at once: one array over rows for each entry of the upper triangle."""

from __future__ import annotations

from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray

from desktop.flow.forms import Scratch

Floats = NDArray[np.float64]

Symmetric = dict[int, Floats]
"""Entry (j, k), j ≤ k, of size×size matrices under the number j·size + k. Entries left out are always zero."""


def inverted(matrix: Symmetric, size: int, scratch: Scratch) -> Symmetric:
    """The inverses of positive definite matrices: closed forms up to 3×3, LAPACK beyond."""
    if size == 0:
        return {}
    if size == 1:
        return {0: np.reciprocal(matrix[0], out=scratch.take())}
    if size == 2:
        return _two(matrix, scratch)
    if size == 3:
        return _three(matrix, scratch)
    return _many(matrix, size)


def filled(places: frozenset[int], size: int) -> frozenset[int]:
    """Which entries the inverse has when the matrix has these."""
    if size < 3:
        return places
    return frozenset(j * size + k for j, k in combinations_with_replacement(range(size), 2))


def _two(matrix: Symmetric, scratch: Scratch) -> Symmetric:
    a, b, d = matrix[0], matrix.get(1), matrix[3]
    if b is None:
        return {0: np.reciprocal(a, out=scratch.take()), 3: np.reciprocal(d, out=scratch.take())}
    determinant, spare = scratch.take(), scratch.spare
    np.multiply(a, d, out=determinant)
    np.multiply(b, b, out=spare)
    np.subtract(determinant, spare, out=determinant)
    np.reciprocal(determinant, out=determinant)
    inverse = {0: scratch.take(), 1: scratch.take(), 3: scratch.take()}
    np.multiply(d, determinant, out=inverse[0])
    np.multiply(a, determinant, out=inverse[3])
    np.multiply(b, determinant, out=spare)
    np.negative(spare, out=inverse[1])
    return inverse


def _three(matrix: Symmetric, scratch: Scratch) -> Symmetric:
    zero = scratch.take()
    zero.fill(0.0)
    a, b, c = matrix[0], matrix.get(1, zero), matrix.get(2, zero)
    d, e, f = matrix[4], matrix.get(5, zero), matrix[8]
    spare = scratch.spare

    def minor(p: Floats, q: Floats, r: Floats, s: Floats) -> Floats:
        out = scratch.take()
        np.multiply(p, q, out=out)
        np.multiply(r, s, out=spare)
        return np.subtract(out, spare, out=out)

    inverse = {
        0: minor(d, f, e, e),
        1: minor(c, e, b, f),
        2: minor(b, e, c, d),
        4: minor(a, f, c, c),
        5: minor(b, c, a, e),
        8: minor(a, d, b, b),
    }
    determinant = scratch.take()
    np.multiply(a, inverse[0], out=determinant)
    for entry, cofactor in ((b, inverse[1]), (c, inverse[2])):
        np.multiply(entry, cofactor, out=spare)
        np.add(determinant, spare, out=determinant)
    np.reciprocal(determinant, out=determinant)
    for cofactor in inverse.values():
        np.multiply(cofactor, determinant, out=cofactor)
    return inverse


def _many(matrix: Symmetric, size: int) -> Symmetric:
    whole = np.zeros((len(matrix[0]), size, size))
    for place, entry in matrix.items():
        j, k = divmod(place, size)
        whole[:, j, k] = whole[:, k, j] = entry
    inverse = np.linalg.inv(whole)
    return {
        j * size + k: np.ascontiguousarray(inverse[:, j, k])
        for j, k in combinations_with_replacement(range(size), 2)
    }
