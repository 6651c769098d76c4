"""Why results on reference materials are off: physical causes ranked by how well they explain it.

Here live the columns that causes leave in a history, the likelihood of each, their ranking, and
common practice on how to confirm them. Never here: storage, a method's numbers (corrections come
in as figures), and the generator of simulated histories, which shares no code with this.
"""

from closedcup.metrology.diagnosis.history import LEAST_RESULTS, PARTS, ReferenceHistory
from closedcup.metrology.diagnosis.practice import (
    ConfirmingTest,
    Symptom,
    cheapest_test,
    confirming_tests,
    symptoms,
)
from closedcup.metrology.diagnosis.ranking import Diagnosis, RankedCause, diagnose, diagnose_all
from closedcup.metrology.diagnosis.signatures import CAUSES, CHANGE_OF, SCATTER

__all__ = [
    "CAUSES",
    "CHANGE_OF",
    "LEAST_RESULTS",
    "PARTS",
    "SCATTER",
    "ConfirmingTest",
    "Diagnosis",
    "RankedCause",
    "ReferenceHistory",
    "Symptom",
    "cheapest_test",
    "confirming_tests",
    "diagnose",
    "diagnose_all",
    "symptoms",
]
