"""The laboratory's own things as values: what arrived, what was asked, what was seen, by whom.

Here live the sample, the requested test, the series of determinations, the result and when it may
be released, the apparatus and its state, people, and reference materials. Storage, statistics and
the clock never do: a moment is passed in. What was typed stays as typed (`Decimal`, with its unit
in the name); what was computed is a float.
"""

from closedcup.laboratory.apparatus import (
    Apparatus,
    ApparatusState,
    ProbeCheck,
    ServiceAnswer,
    ServiceRecord,
    state_of,
)
from closedcup.laboratory.chart_decisions import AssignedCause, DecidedLimits
from closedcup.laboratory.checklist import Checklist, ChecklistItem, service_checklist
from closedcup.laboratory.people import Person
from closedcup.laboratory.reference_material import ReferenceMaterial, Verification
from closedcup.laboratory.requested_test import RequestedTest
from closedcup.laboratory.result import Result, reasons_to_hold
from closedcup.laboratory.sample import Component, Composition, Evidence, PastResult, Sample
from closedcup.laboratory.series import Reading, RecordedMove, Series
from closedcup.laboratory.site import Site

__all__ = [
    "Apparatus",
    "ApparatusState",
    "AssignedCause",
    "Checklist",
    "ChecklistItem",
    "Component",
    "Composition",
    "DecidedLimits",
    "Evidence",
    "PastResult",
    "Person",
    "ProbeCheck",
    "Reading",
    "RecordedMove",
    "ReferenceMaterial",
    "RequestedTest",
    "Result",
    "Sample",
    "Series",
    "ServiceAnswer",
    "ServiceRecord",
    "Site",
    "Verification",
    "reasons_to_hold",
    "service_checklist",
    "state_of",
]
