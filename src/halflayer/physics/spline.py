"""Natural cubic splines in numpy, for tables that are read on logarithmic axes."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def second_derivatives(x: Array, y: Array) -> Array:
    """Second derivatives of the natural cubic spline through (x, y); x increasing, both (n,).

    Source: the tridiagonal system of the natural spline, solved by elimination (any numerical text).
    """
    n = len(x)
    m = np.zeros(n)
    if n < 3:
        return m
    h = np.diff(x)
    slope = np.diff(y) / h
    diagonal = 2.0 * (h[:-1] + h[1:])
    right = 6.0 * np.diff(slope)
    for i in range(1, n - 2):  # forward elimination
        factor = h[i] / diagonal[i - 1]
        diagonal[i] -= factor * h[i]
        right[i] -= factor * right[i - 1]
    for i in range(n - 3, -1, -1):  # back substitution; m[n-1] = 0
        m[i + 1] = (right[i] - h[i + 1] * m[i + 2]) / diagonal[i]
    return m


def evaluate(x: Array, y: Array, m: Array, at: Any) -> Array:
    """Value of the spline (x, y, m) at the points `at`; the end pieces are continued as straight lines."""
    t = np.asarray(at, dtype=np.float64)
    if len(x) == 1:
        return np.full(t.shape, y[0])
    i = np.clip(np.searchsorted(x, t, side="right") - 1, 0, len(x) - 2)
    h = x[i + 1] - x[i]
    inside = np.clip(t, x[0], x[-1])
    a = (x[i + 1] - inside) / h
    b = 1.0 - a
    value = a * y[i] + b * y[i + 1] + ((a**3 - a) * m[i] + (b**3 - b) * m[i + 1]) * h**2 / 6.0
    # outside: slope of the spline at the end (its second derivative is zero there)
    slope = (y[i + 1] - y[i]) / h + ((3.0 * b**2 - 1.0) * m[i + 1] - (3.0 * a**2 - 1.0) * m[i]) * h / 6.0
    return value + (t - inside) * slope
