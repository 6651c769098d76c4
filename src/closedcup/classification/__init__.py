"""What a flash point means, regime by regime: decision tables in `data`, read by one evaluator.

Every regime is a table of rows in `data/regimes` (fuel specifications: one CSV); each row has its
conditions with operator and unit, its clause, its rule in words, its source and how it is known.
No cut-off stands in code. Relief is given only on evidence; what the evidence leaves open is said.

Never here: measuring, correcting or rounding a result; the laboratory's decision rule for a limit
(that is `conformity`).
"""

from closedcup.classification.answer import Answer, Chance, Input, SourceUse
from closedcup.classification.bands import Band, bands, chances
from closedcup.classification.evaluate import classify, classify_regime, in_question
from closedcup.classification.evidence import Evidence
from closedcup.classification.products import product_kinds
from closedcup.classification.regimes import regimes
from closedcup.classification.tables import Regime

__all__ = [
    "Answer",
    "Band",
    "Chance",
    "Evidence",
    "Input",
    "Regime",
    "SourceUse",
    "bands",
    "chances",
    "classify",
    "classify_regime",
    "in_question",
    "product_kinds",
    "regimes",
]
