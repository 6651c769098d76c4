"""Take samples in, record what is known of them, and agree the test that is asked."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, cast, get_args

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk.custody import refuse_disposed
from closedcup.app.usecases.desk.retention import (
    as_due,
    as_keep_days,
    as_keep_until,
    as_priority,
)
from closedcup.app.usecases.lookup import find, refuse_taken
from closedcup.errors import InputError
from closedcup.laboratory import Component, Composition, Evidence, RequestedTest, Sample
from closedcup.laboratory.sample import Basis, Trust

if TYPE_CHECKING:
    from closedcup.mixtures import Liquid


def next_sample_id(opened: OpenLaboratory) -> str:
    """Return the next free sample id."""
    return f"S-{len(opened.state.samples) + 1:04d}"


def next_test_id(opened: OpenLaboratory, sample: str) -> str:
    """Return the next free id for a test on a sample."""
    return f"{sample}-T{len(opened.state.tests_of(sample)) + 1}"


def as_trust(text: str) -> Trust:
    """Read how far a composition is trusted."""
    for trust in get_args(Trust):
        if trust == text:
            return cast("Trust", trust)
    raise InputError(
        "trust-unknown",
        f"“{text}” does not say how far the composition is trusted.",
        where="composition",
        fix=f"Say one of: {', '.join(get_args(Trust))}.",
    )


def as_basis(text: str) -> Basis:
    """Read the basis of fractions."""
    for basis in get_args(Basis):
        if basis == text:
            return cast("Basis", basis)
    raise InputError(
        "basis-unknown",
        f"“{text}” is not a basis of fractions.",
        where="composition",
        fix=f"Say one of: {', '.join(get_args(Basis))}.",
    )


def composition(trust: str, basis: str, components: tuple[Component, ...]) -> Composition:
    """Return a composition as typed; InputError for a word that does not fit."""
    return Composition(as_trust(trust), as_basis(basis), components)


def receive_sample(opened: OpenLaboratory, sample: Sample, *, key: str | None = None) -> Sample:
    """Take a sample in, as it arrived.

    The composition is checked against the catalogue where it is declared or measured, so that an
    unknown name or fractions that do not add up are told now and not at the bench.
    """
    opened.site()
    if (earlier := opened.recorded(key)) is not None:
        return opened.state.samples[earlier.subject]
    sample = agreed(sample, opened.clock().date())
    from closedcup.app.usecases.liquids.estimating import own_on_record

    require_testable(sample, own_on_record(opened.state))
    if opened.recorded(key) is None:
        refuse_taken(opened.state.samples, sample.id, "sample")
    opened.record("sample-received", sample.id, sample, key=key)
    return sample


def require_testable(sample: Sample, own: "Mapping[str, Liquid] | None" = None) -> None:
    """Raise InputError where a sample as typed cannot be tested: no volume, unknown words."""
    if sample.volume_ml <= 0:
        raise InputError(
            "volume-not-positive",
            f"{sample.volume_ml} mL of sample cannot be tested.",
            where=f"sample {sample.id}",
            fix="Enter the volume received in mL.",
        )
    if sample.kind:
        from closedcup.methods import parse_product

        parse_product(sample.kind)
    if sample.product:
        from closedcup.app.usecases.desk.evidence import known_product

        known_product(sample.product)
    if sample.composition.components:
        from closedcup.app.usecases.liquids.estimating import blend_of

        blend_of(sample.composition, own=own)


def agreed(sample: Sample, today: date) -> Sample:
    """Return a sample with what was agreed of it read: priority, due day, retention.

    InputError for a day in the past, for more kept back than there is, and where a condition is
    questioned but not said.
    """
    if sample.in_doubt and not sample.condition:
        raise InputError(
            "condition-missing",
            "The condition is questioned, but not said.",
            where="condition",
            fix="Say what is wrong with the sample: the customer is asked about it.",
        )
    if sample.kept_back_ml is not None and not 0 <= sample.kept_back_ml < sample.volume_ml:
        raise InputError(
            "kept-back-impossible",
            f"{sample.kept_back_ml} mL of {sample.volume_ml} mL cannot be kept back.",
            where="keep-back",
            fix="Keep back less than there is, so that something can be tested.",
        )
    return replace(
        sample,
        priority=as_priority(sample.priority),
        due=as_due(sample.due, today),
        keep_until=as_keep_until(sample.keep_until, today),
        keep_days=as_keep_days(sample.keep_days),
    )


def record_evidence(
    opened: OpenLaboratory, sample: str, evidence: Evidence, *, key: str | None = None
) -> Evidence:
    """Record a property that a relief rule needs (boiling point, sustained burning, …)."""
    from closedcup.app.usecases.desk.evidence import refuse_unreadable

    find(opened.state.samples, sample, "sample")
    refuse_unreadable(evidence)
    opened.record("evidence-recorded", sample, evidence, key=key)
    return evidence


def request_test(
    opened: OpenLaboratory, test: RequestedTest, *, key: str | None = None
) -> RequestedTest:
    """Agree a test: method, what is asked, the limit and the decision rule, before it begins."""
    from closedcup.methods import method, refuse_unguided

    find(opened.state.samples, test.sample, "sample")
    if (earlier := opened.recorded(key)) is not None:
        return opened.state.tests[earlier.subject]
    refuse_disposed(opened.state, test.sample)
    chosen = method(test.method)
    refuse_unguided(chosen)
    kind = "limit" if chosen.test == "flash/no-flash" else "finite"
    if test.kind != kind:
        raise InputError(
            "test-not-of-method",
            f"{chosen.designation} does not make a {_words(test.kind)} test.",
            where=f"method {test.method}",
            fix=f"It makes a {_words(kind)} test.",
        )
    if test.kind == "limit" and test.limit is None:
        raise InputError(
            "limit-missing",
            "A test at a limit needs the limit, with its operator.",
            where=f"test {test.id}",
            fix="Give it as “<60 degC”, “<=60 degC”, “>=60 degC” or “>55 degC”.",
        )
    from closedcup.app.usecases.results.agreed_rule import refuse_unagreed

    refuse_unagreed(test)
    if opened.recorded(key) is None:
        refuse_taken(opened.state.tests, test.id, "test")
    opened.record("test-requested", test.id, test, key=key)
    return test


def _words(kind: str) -> str:
    return "flash/no-flash" if kind == "limit" else "finite flash point"
