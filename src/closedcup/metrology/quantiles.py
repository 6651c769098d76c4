"""Quantiles and tail areas of the distributions that the tests rest on.

Each probability is the area below the quantile. scipy.special is loaded when first asked.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def normal_quantile(probability: ArrayLike) -> Floats:
    """Return the quantile of the standard normal distribution."""
    from scipy.special import ndtri  # noqa: PLC0415  (loaded when first needed)

    return np.asarray(ndtri(probability), dtype=np.float64)


def normal_area(value: ArrayLike) -> Floats:
    """Return the area of the standard normal distribution below a value."""
    from scipy.special import ndtr  # noqa: PLC0415  (loaded when first needed)

    return np.asarray(ndtr(value), dtype=np.float64)


def student_quantile(probability: float, degrees_of_freedom: float) -> float:
    """Return Student's t quantile; infinite degrees of freedom give the normal one."""
    from scipy.special import ndtri, stdtrit  # noqa: PLC0415  (loaded when first needed)

    if np.isinf(degrees_of_freedom):
        return float(ndtri(probability))
    return float(stdtrit(degrees_of_freedom, probability))


def student_area(value: float, degrees_of_freedom: float) -> float:
    """Return the area of Student's distribution below a value."""
    from scipy.special import stdtr  # noqa: PLC0415  (loaded when first needed)

    return float(stdtr(degrees_of_freedom, value))


def chi_square_quantile(probability: float, degrees_of_freedom: float) -> float:
    """Return the chi-square quantile."""
    from scipy.special import chdtri  # noqa: PLC0415  (loaded when first needed)

    return float(chdtri(degrees_of_freedom, 1 - probability))


def fisher_quantile(probability: float, numerator: float, denominator: float) -> float:
    """Return the quantile of Fisher's F with two degrees of freedom."""
    from scipy.special import fdtri  # noqa: PLC0415  (loaded when first needed)

    return float(fdtri(numerator, denominator, probability))
