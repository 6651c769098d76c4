"""The laboratory's own things as values: what arrived, what was asked, what was seen, by whom.

Here live the sample, the requested test, the series of determinations, the result and when it may
be released, the apparatus and its state, people, reference materials, and nonconforming work:
holds, disputes, what was superseded. Storage, statistics and the clock never do: a moment is
passed in. What was typed stays as typed (`Decimal`, with its unit in the name); what was computed
is a float.
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
from closedcup.laboratory.nonconforming import (
    HOLD_KINDS,
    CorrectiveAction,
    Dispute,
    DisputeSettled,
    Hold,
    HoldKind,
    HoldLifted,
    ResultStands,
    Supersession,
    SystemFailure,
    parse_hold_kind,
)
from closedcup.laboratory.people import Person
from closedcup.laboratory.reference_material import ReferenceMaterial, Verification
from closedcup.laboratory.requested_test import RequestedTest
from closedcup.laboratory.result import Result, reasons_to_hold
from closedcup.laboratory.sample import Component, Composition, Evidence, PastResult, Sample
from closedcup.laboratory.series import Reading, RecordedMove, Series
from closedcup.laboratory.site import Site
from closedcup.laboratory.verification_conditions import VerificationConditions

__all__ = [
    "HOLD_KINDS",
    "Apparatus",
    "ApparatusState",
    "AssignedCause",
    "Checklist",
    "ChecklistItem",
    "Component",
    "Composition",
    "CorrectiveAction",
    "DecidedLimits",
    "Dispute",
    "DisputeSettled",
    "Evidence",
    "Hold",
    "HoldKind",
    "HoldLifted",
    "PastResult",
    "Person",
    "ProbeCheck",
    "Reading",
    "RecordedMove",
    "ReferenceMaterial",
    "RequestedTest",
    "Result",
    "ResultStands",
    "Sample",
    "Series",
    "ServiceAnswer",
    "ServiceRecord",
    "Site",
    "Supersession",
    "SystemFailure",
    "Verification",
    "VerificationConditions",
    "parse_hold_kind",
    "reasons_to_hold",
    "service_checklist",
    "state_of",
]
