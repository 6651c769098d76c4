"""Comparisons of the program's numbers with independent ones, for the user and for the tests.

Every function behind a printed number stands in `PRINTED` and has at least one comparison; the
published figures lie in `data`, each with its source and how it is known.
"""

from closedcup.app.validation.comparison import Comparison
from closedcup.app.validation.pack import PRINTED, all_comparisons, run_validation

__all__ = ["PRINTED", "Comparison", "all_comparisons", "run_validation"]
