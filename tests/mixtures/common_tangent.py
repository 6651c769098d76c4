"""An independent answer for blends that part: the common tangent, then scipy on all unknowns.

The free energy of mixing is laid over a lattice; the facet of its lower convex hull under the
blend shows how many liquids there are and nearly what they are. `scipy.optimize` then solves mass
balance, equal activities and the sum for the moles (by their logarithms) and the temperature.
"""

import numpy as np
from scipy.optimize import root  # noqa: TID251 - the independent solver
from scipy.spatial import ConvexHull

KELVIN = 273.15


def lattice(size, steps):
    """Return all shares of `size` liquids in whole steps."""
    if size == 1:
        return np.array([[1.0]])
    rows = []
    for k in range(steps + 1):
        if k == steps:
            rows.append(np.eye(size)[:1])
            continue
        rest = lattice(size - 1, steps - k) * (steps - k) / steps
        rows.append(np.column_stack([np.full(len(rest), k / steps), rest]))
    return np.concatenate(rows)


def mixing(model, x, kelvin):
    """Return the free energy of mixing over RT."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ideal = np.where(x > 0, x * np.log(x), 0.0)
    return (ideal + x * model.ln_gamma(x, np.full(len(x), kelvin))).sum(axis=1)


def liquids_under(model, blend, kelvin, steps):
    """Return a guess of the liquids' moles, shape (phases, liquids), from the hull's facet."""
    points = lattice(len(blend), steps)
    heights = mixing(model, points, kelvin)
    hull = ConvexHull(np.column_stack([points[:, :-1], heights]))
    for facet, equation in zip(hull.simplices, hull.equations, strict=True):
        corners = points[facet]
        if equation[-2] > -1e-12 or abs(np.linalg.det(corners)) < 1e-12:
            continue
        shares = np.linalg.solve(corners.T, blend)
        if shares.min() > -1e-9:
            return _gathered(corners, np.maximum(shares, 0.0), 3.1 / steps)
    raise AssertionError(blend)


def _gathered(corners, shares, near):
    """Take corners that are neighbours on the lattice as one liquid."""
    groups = []
    for corner, share in zip(corners, shares, strict=True):
        for group in groups:
            if np.abs(group[0] - corner).max() < near:
                group[1].append((corner, share))
                break
        else:
            groups.append((corner, [(corner, share)]))
    return np.array([sum(share * corner for corner, share in group) for _, group in groups])


def flash_point(flash_sum, blend, start_c, steps=60):
    """Return the flash point and the number of liquids of one blend (every share above zero)."""
    kelvin = start_c + KELVIN
    for _ in range(3):  # the facet depends on the temperature: look again where it led
        guess = liquids_under(flash_sum.model, blend, kelvin, steps)
        guess = np.maximum(guess, 1e-9 * guess.sum(axis=1, keepdims=True))
        guess *= blend / guess.sum(axis=0)
        solved, phases = _solved(flash_sum, blend, guess, kelvin), len(guess)
        if abs(solved - kelvin) < 0.02:
            break
        kelvin = solved
    return solved - KELVIN, phases


def _solved(flash_sum, blend, guess, kelvin):
    phases, size = guess.shape

    def uneven(unknown):
        moles = np.exp(unknown[:-1].reshape(phases, size))
        x, at = moles / moles.sum(axis=1, keepdims=True), np.full(phases, 100 * unknown[-1])
        ln_a = np.log(x) + flash_sum.model.ln_gamma(x, at)
        return np.concatenate([
            moles.sum(axis=0) / blend - 1,
            (ln_a[1:] - ln_a[0]).ravel(),
            flash_sum.ln_sum(x[:1], at[:1]),
        ])  # fmt: skip

    start = np.concatenate([np.log(guess).ravel(), [kelvin / 100]])
    found = root(
        uneven, start, method="lm", options={"xtol": 1e-13, "ftol": 1e-13, "maxiter": 4000}
    )
    assert np.abs(found.fun).max() < 1e-7, (blend, found.message, np.abs(found.fun).max())
    return 100 * found.x[-1]
