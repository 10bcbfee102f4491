"""Split the spread of ratings into its parts (reeds, days, noise ...) without bias: arrays only.

The model is y = X·b + Σ Z_i·u_i + e with independent parts, part i having covariance θ_i·G_i. Squares of
the residuals, weighted by what the parts are believed to be, are equated to their expectations: Rao 1971,
J. Multivariate Analysis 1, 257-275 and 445-456 (MINQUE). The answer is unbiased whatever the
weights, whatever the shape of the distributions and however unbalanced the sittings; with the right
weights and normal values it is the best there is, and repeated with its own answer it becomes REML. The
price: an estimate may come out below zero, and it is left so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

__all__ = ["Part", "Parts", "full_rank", "split_variance"]

_Floats = NDArray[np.floating]


@dataclass(frozen=True)
class Part:
    """One source of spread: which columns of Z (`block`), their correlation `shape` (q, q), and its name."""

    name: str
    block: int
    shape: _Floats


@dataclass(frozen=True)
class Parts:
    """What came out. `variance` and `covariance` follow `names`; "noise" is last.

    `covariance` of the estimates and `fixed_cov` hold if the weights were right and values are normal.
    `expected` is the matrix that turns variances into the expected squares; half of it is the information
    on the variances.
    """

    names: tuple[str, ...]
    variance: _Floats
    covariance: _Floats
    expected: _Floats
    fixed: _Floats
    fixed_cov: _Floats


def full_rank(x: _Floats) -> NDArray[np.bool_]:
    """Return which columns to keep so that none is a mix of those before it; the first ones win."""
    keep = np.zeros(x.shape[1], dtype=bool)
    basis: list[_Floats] = []
    for j in range(x.shape[1]):
        rest = x[:, j].astype(float)
        size = float(np.linalg.norm(rest))
        for _ in range(2):  # twice: once leaves rounding behind
            for q in basis:
                rest = rest - q * float(q @ rest)
        norm = float(np.linalg.norm(rest))
        if size > 0 and norm > 1e-8 * size:
            basis.append(rest / norm)
            keep[j] = True
    return keep


def split_variance(y: _Floats, x: _Floats, blocks: Sequence[_Floats], parts: Sequence[Part],
                   weights: Sequence[float]) -> Parts:
    """Estimate the variance of each part and of the noise.

    Parameters
    ----------
    y : (n,) float
        Values.
    x : (n, p) float
        Fixed effects, of full rank (see `full_rank`).
    blocks : sequence of (n, q) float
        The random effects' design matrices; parts may share one.
    parts : sequence of Part
        Sources of spread other than the noise.
    weights : sequence of float
        Believed variances of the parts, in their order, then of the noise (> 0).
    """
    n, p = x.shape
    edges = np.cumsum([0, *(b.shape[1] for b in blocks)])
    cut = [slice(a, b) for a, b in pairwise(edges.tolist())]
    z = np.hstack(list(blocks)) if blocks else np.zeros((n, 0))
    noise = float(weights[-1])
    g = np.zeros((z.shape[1], z.shape[1]))
    for part, w in zip(parts, weights[:-1], strict=True):
        g[cut[part.block], cut[part.block]] += w * part.shape

    # V⁻¹A by Woodbury: only matrices as wide as there are reeds and days are ever solved
    inner = np.linalg.solve(noise * np.eye(z.shape[1]) + (z.T @ z) @ g, np.eye(z.shape[1]))
    zg = z @ (g @ inner)

    def v_inv(a: _Floats) -> _Floats:
        return (a - zg @ (z.T @ a)) / noise

    vx, vz, vy = v_inv(x), v_inv(z), v_inv(y)
    cov_b = np.linalg.inv(x.T @ vx)
    b = cov_b @ (vx.T @ y)
    pz, py = vz - vx @ (cov_b @ (vx.T @ z)), vy - vx @ b
    t, t2, u = z.T @ pz, pz.T @ pz, z.T @ py

    moved = [q.shape @ t[cut[q.block]] for q in parts]  # G_i Z_i'PZ, (q_i, all)
    trace_p = (n - p - float(np.sum(g * t.T))) / noise
    trace_pp = (trace_p - float(np.sum(g * t2.T))) / noise

    def cross(i: int, j: int) -> float:
        return float(np.sum(moved[i][:, cut[parts[j].block]] * moved[j][:, cut[parts[i].block]].T))

    m = len(parts)
    s, want = np.empty((m + 1, m + 1)), np.empty(m + 1)
    for i, part in enumerate(parts):
        here = cut[part.block]
        want[i] = float(u[here] @ part.shape @ u[here])
        s[i, m] = s[m, i] = float(np.sum(part.shape * t2[here, here].T))
        for j in range(m):
            s[i, j] = cross(i, j)
    want[m], s[m, m] = float(py @ py), trace_pp
    inverse = np.linalg.pinv(s, rcond=1e-10, hermitian=True)
    return Parts((*(q.name for q in parts), "noise"), inverse @ want, 2 * inverse, s, b, cov_b)
