"""What the records say now: the state of the laboratory, which is a fold of its events.

`Ledger` is that state and what can be asked of it; `records.folding` makes it. Nothing here is
stored: drop it and fold again.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

from closedcup.laboratory import (
    Apparatus,
    ApparatusState,
    AssignedCause,
    CorrectiveAction,
    DecidedLimits,
    Dispute,
    DisputeSettled,
    Evidence,
    Hold,
    HoldLifted,
    Person,
    ProbeCheck,
    ReferenceMaterial,
    RequestedTest,
    Result,
    Sample,
    Series,
    ServiceAnswer,
    ServiceRecord,
    Site,
    Supersession,
    SystemFailure,
    Verification,
    state_of,
)
from closedcup.laboratory.chilling import SampleChilling
from closedcup.laboratory.cup_rates import CupRates
from closedcup.laboratory.day import CloseDown, DayCard
from closedcup.laboratory.nonconforming import EffectivenessReview
from closedcup.laboratory.outside_result import OutsideResult, OwnLiquid
from closedcup.laboratory.proficiency import ProficiencyResult
from closedcup.laboratory.qualification import Qualification, QualificationWithdrawn
from closedcup.laboratory.reference_material import MaterialOpened
from closedcup.laboratory.sample_keeping import KeepingEntry
from closedcup.laboratory.signature import Signature
from closedcup.laboratory.stated_uncertainty import StatedUncertainty
from closedcup.laboratory.upkeep import (
    BackupRehearsed,
    BackupRule,
    BackupTaken,
    ResultsRecomputed,
)
from closedcup.laboratory.verification_interval import VerificationInterval
from closedcup.laboratory.working_rules import WorkingRules
from closedcup.methods import Confirmation, Method
from closedcup.methods import method as find_method
from closedcup.records.belonging import Noun
from closedcup.records.facts import (
    Classified,
    HazardReview,
    ImportedFile,
    ImportMapping,
    IssuedReport,
    KeptFile,
    Plan,
    Release,
    SampleFilter,
    TraceMapping,
)


class _Cases(Protocol):
    def holding(self, noun: Noun, identifier: str) -> "Ledger": ...
    def results(self, apparatus: str | None, since: str | None) -> list[str]: ...
    def last(self, noun: Noun) -> str | None: ...
    def ids_about(self, noun: Noun, about: str) -> list[str]: ...


@dataclass
class Ledger:
    """The laboratory as its records tell it, up to event `seq`.

    Over all samples on record, what belongs to one sample is folded only when it is looked at:
    the shelves of `CASE_SHELVES` are then read-only `CaseShelf`s, and `cases` is where they look.
    """

    seq: int = 0
    cases: _Cases | None = field(default=None, compare=False)
    site: Site | None = None
    people: dict[str, Person] = field(default_factory=dict)
    roles: dict[str, frozenset[str]] = field(default_factory=dict)
    """By person: the roles held now."""
    accounts: dict[str, bool] = field(default_factory=dict)
    """By person: whether the account may be used; empty where everybody is trusted."""
    rules: WorkingRules = field(default_factory=WorkingRules)
    qualifications: dict[str, Qualification] = field(default_factory=dict)
    withdrawn: dict[str, QualificationWithdrawn] = field(default_factory=dict)
    """By qualification."""
    apparatus: dict[str, Apparatus] = field(default_factory=dict)
    service: dict[str, ServiceRecord] = field(default_factory=dict)
    service_answers: dict[str, tuple[ServiceAnswer, ...]] = field(default_factory=dict)
    day_cards: dict[tuple[str, str], DayCard] = field(default_factory=dict)
    """By apparatus and day."""
    closed_down: dict[tuple[str, str], CloseDown] = field(default_factory=dict)
    probes: dict[str, ProbeCheck] = field(default_factory=dict)
    cup_rates: dict[str, CupRates] = field(default_factory=dict)
    """By apparatus: how fast its cup heats and cools, as last noted."""
    materials: dict[str, ReferenceMaterial] = field(default_factory=dict)
    opened_materials: dict[str, MaterialOpened] = field(default_factory=dict)
    """By reference material: its bottle in use."""
    intervals: dict[str, tuple[VerificationInterval, ...]] = field(default_factory=dict)
    """By apparatus, or "" for every apparatus: how often it is verified, in order of decision."""
    proficiency: dict[str, ProficiencyResult] = field(default_factory=dict)
    stated_uncertainties: dict[tuple[str, str], StatedUncertainty] = field(default_factory=dict)
    """By source and apparatus ("" for all): as stated last."""
    verifications: dict[str, tuple[Verification, ...]] = field(default_factory=dict)
    verified_by: dict[str, str] = field(default_factory=dict)
    """By verification: who recorded it."""
    causes: dict[str, AssignedCause] = field(default_factory=dict)
    chart_limits: dict[tuple[str, str], tuple[DecidedLimits, str]] = field(default_factory=dict)
    """By apparatus and designation of the method: the limits last decided on, and when."""
    samples: dict[str, Sample] = field(default_factory=dict)
    evidence: dict[str, tuple[Evidence, ...]] = field(default_factory=dict)
    chilling: dict[str, tuple[tuple[str, SampleChilling], ...]] = field(default_factory=dict)
    """By sample: when it was put to chill or its temperature read, in order."""
    keeping: dict[str, tuple[KeepingEntry, ...]] = field(default_factory=dict)
    """By sample: who had it, when it was opened, what was agreed and done with it, in order."""
    sample_filters: dict[str, SampleFilter] = field(default_factory=dict)
    """By name."""
    tests: dict[str, RequestedTest] = field(default_factory=dict)
    plans: dict[str, Plan] = field(default_factory=dict)
    reviews: dict[str, HazardReview] = field(default_factory=dict)
    series: dict[str, Series] = field(default_factory=dict)
    results: dict[str, Result] = field(default_factory=dict)
    issued_at: dict[str, tuple[str, str]] = field(default_factory=dict)
    releases: dict[str, Release] = field(default_factory=dict)
    signatures: dict[str, tuple[Signature, ...]] = field(default_factory=dict)
    """By result, in order."""
    classified: dict[str, Classified] = field(default_factory=dict)
    files: dict[str, tuple[KeptFile, ...]] = field(default_factory=dict)
    trace_mappings: dict[str, TraceMapping] = field(default_factory=dict)
    """By apparatus: how its files were last read."""
    reports: dict[str, IssuedReport] = field(default_factory=dict)
    superseded: dict[str, Supersession] = field(default_factory=dict)
    """By the result that no longer counts."""
    outside_results: dict[str, OutsideResult] = field(default_factory=dict)
    own_liquids: dict[str, OwnLiquid] = field(default_factory=dict)
    import_mappings: dict[str, ImportMapping] = field(default_factory=dict)
    """By the name under which a mapping was kept."""
    imported: dict[str, ImportedFile] = field(default_factory=dict)
    """By the hash of the file."""
    holds: dict[str, Hold] = field(default_factory=dict)
    lifted: dict[str, HoldLifted] = field(default_factory=dict)
    """By hold."""
    stands: dict[str, frozenset[str]] = field(default_factory=dict)
    """By result: the holds that it was reviewed against and stands."""
    disputes: dict[str, Dispute] = field(default_factory=dict)
    settled: dict[str, DisputeSettled] = field(default_factory=dict)
    """By dispute."""
    failures: dict[str, SystemFailure] = field(default_factory=dict)
    corrective: dict[str, tuple[CorrectiveAction, ...]] = field(default_factory=dict)
    effectiveness: dict[str, tuple[EffectivenessReview, ...]] = field(default_factory=dict)
    """By failure, as the corrective actions."""
    last_backup: BackupTaken | None = None
    last_rehearsal: tuple[str, BackupRehearsed] | None = None
    """When a restore was rehearsed last, and of which backup."""
    backup_rule: BackupRule | None = None
    recomputed: ResultsRecomputed | None = None
    """The last time that issued results were computed again."""
    confirmations: dict[str, Mapping[str, Confirmation]] = field(default_factory=dict)
    """By method and name of the number: what was last confirmed."""
    confirmation_log: dict[str, tuple[tuple[int, Confirmation], ...]] = field(default_factory=dict)
    """By method: each confirmation with the number of its event."""
    confirmed_at_begin: dict[str, Mapping[str, Confirmation]] = field(default_factory=dict)
    """By series: what was confirmed of its method when it began."""
    unread: set[str] = field(default_factory=set)
    """Kinds of event that this version does not know, so that a page can say so."""

    def apparatus_state(self, apparatus: str, method: str) -> ApparatusState:
        """Return the state of an apparatus for one method."""
        return state_of(self.service.get(apparatus), self.verifications_for(apparatus, method))

    def verifications_for(self, apparatus: str, method: str) -> tuple[Verification, ...]:
        """Return the verifications that speak for a method, in order.

        One made with any procedure of the same published method does: the cup and its scale are
        the same. Another method's does not.
        """
        wanted = find_method(method)
        return tuple(
            each
            for each in self.verifications.get(apparatus, ())
            if _is_same(find_method(each.method), wanted)
        )

    def tests_of(self, sample: str) -> tuple[RequestedTest, ...]:
        """Return the tests requested on a sample, in order."""
        tests = self._near("sample", sample).tests.values()
        return tuple(test for test in tests if test.sample == sample)

    def series_of(self, test: str) -> tuple[Series, ...]:
        """Return the series begun for a test, in order."""
        begun = self._near("test", test).series.values()
        return tuple(series for series in begun if series.test == test)

    def results_of(self, test: str) -> tuple[Result, ...]:
        """Return every result issued for a test, in order; the last one may be in force."""
        issued = self._near("test", test).results.values()
        return tuple(result for result in issued if result.test == test)

    def results_issued(self, *, apparatus: str | None, since: str | None) -> Iterator[Result]:
        """Yield the results issued since a moment, on one apparatus or on any, in order."""
        if self.cases is not None:
            yield from (self.results[each] for each in self.cases.results(apparatus, since))
            return
        for result in self.results.values():
            issued = datetime.fromisoformat(self.issued_at[result.id][0])
            on = self.series[result.series].apparatus
            if apparatus in (None, on) and (
                since is None or issued >= datetime.fromisoformat(since)
            ):
                yield result

    def last_series(self) -> Series | None:
        """Return the series begun last."""
        last = (
            next(reversed(self.series), None) if self.cases is None else self.cases.last("series")
        )
        return None if last is None else self.series[last]

    def last_report(self) -> IssuedReport | None:
        """Return the report issued last."""
        if self.cases is not None:
            last = self.cases.last("report")
            return None if last is None else self.reports[last]
        return next(reversed(self.reports.values()), None)

    def outside_results_of(self, sample: str) -> tuple[OutsideResult, ...]:
        """Return the results from outside that are said to be of a sample, in order."""
        if self.cases is not None:
            found = self.cases.ids_about("outside result", sample)
            return tuple(self.outside_results[each] for each in found)
        return tuple(each for each in self.outside_results.values() if each.sample == sample)

    def result_of(self, test: str) -> Result | None:
        """Return the result in force of a test: the last one issued, unless it was superseded."""
        found = self.results_of(test)
        return found[-1] if found and found[-1].id not in self.superseded else None

    def series_under_way(self, test: str) -> Series | None:
        """Return the last series of a test, if no result was issued from it."""
        series = self.series_of(test)
        used = {result.series for result in self.results_of(test)}
        return series[-1] if series and series[-1].id not in used else None

    def report_on(self, result: str) -> IssuedReport | None:
        """Return the last report issued on a result."""
        issued = self._near("result", result).reports.values()
        found = [report for report in issued if report.result == result]
        return found[-1] if found else None

    def replaced_by(self, report: str) -> str | None:
        """Return the number of the report that replaces a report."""
        issued = self._near("report", report).reports.values()
        return next((each.number for each in issued if each.replaces == report), None)

    def confirmed_before(self, method: str, seq: int) -> Mapping[str, Confirmation]:
        """Return what was confirmed of a method before an event, by the name of the number."""
        log = self.confirmation_log.get(method, ())
        return {read.number: read for at, read in log if at < seq}

    def _near(self, noun: Noun, identifier: str) -> "Ledger":
        return self if self.cases is None else self.cases.holding(noun, identifier)


def _is_same(one: Method, other: Method) -> bool:
    return (one.designation, one.procedure) == (other.designation, other.procedure)
