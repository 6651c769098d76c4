"""How soon a sample is due and how long it is kept, what may be disposed of, and its disposal."""

from datetime import date
from decimal import Decimal

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk.custody import refuse_disposed, refuse_overtaken
from closedcup.app.usecases.desk.view import Answer, keeping_of, retention_words
from closedcup.app.usecases.desk.volumes import volume_left_ml
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.moments import read_day
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import InputError, Refused
from closedcup.laboratory import Sample
from closedcup.laboratory.disposal import disposal_cautions
from closedcup.laboratory.sample_keeping import PRIORITIES, KeepingAgreed, SampleDisposed
from closedcup.quantities import Volume
from closedcup.records.ledger import Ledger
from closedcup.records.projections import SampleQuery
from closedcup.records.standing import reported_on, retention_end

_FINISHED = ("reported", "received", "refused by the reviewer", "refused by the stop list")
"""Where nothing more is done with a sample, unless somebody asks for it."""
_LISTED = 50  # as many lines as a person looks through
_WASTE_REGIMES = ("RCRA", "CLP", "UN class 3")
"""The regimes whose class says as which waste a liquid goes, and how it is carried away."""


def as_priority(text: str) -> str:
    """Read a priority; InputError with the list for any other word."""
    said = text.strip().lower() or "routine"
    if said not in PRIORITIES:
        raise InputError(
            "priority-unknown",
            f"“{text}” is not a priority.",
            where="priority",
            fix=f"Say one of: {', '.join(PRIORITIES)}.",
        )
    return said


def as_due(text: str, today: date) -> str:
    """Read a due day; InputError for one in the past."""
    if not text.strip():
        return ""
    due = read_day(text, "due")
    if due < today:
        raise InputError(
            "due-past",
            f"{due} is past: nothing can be done by then.",
            where="due",
            fix=f"Enter a day from {today} on, or leave it empty.",
        )
    return due.isoformat()


def as_keep_until(text: str, today: date) -> str:
    """Read the last day of keeping; InputError for one in the past."""
    if not text.strip():
        return ""
    until = read_day(text, "keep-until")
    if until < today:
        raise InputError(
            "retention-past",
            f"{until} is past: a sample is not kept until then.",
            where="keep-until",
            fix=f"Enter a day from {today} on.",
        )
    return until.isoformat()


def as_keep_days(days: int | None) -> int | None:
    """Check how many days a sample is kept."""
    if days is not None and not 0 <= days <= 3660:  # ten years, no longer by mistake (judgement)
        raise InputError(
            "retention-impossible",
            f"A sample is not kept {days} days.",
            where="keep-days",
            fix="Enter whole days from the last report, 0 to 3660.",
        )
    return days


def agree_keeping(
    opened: OpenLaboratory,
    sample_id: str,
    reason: str,
    *,
    priority: str | None = None,
    due: str | None = None,
    keep_until: str | None = None,
    keep_days: int | None = None,
    kept_back: Volume | None = None,
    seen: int | None = None,
    key: str | None = None,
) -> Answer:
    """Agree anew how soon a sample is due and how long it is kept; what is None stays."""
    if opened.recorded(key) is not None:
        return keeping_of(opened, sample_id)
    ledger, today = opened.permit("sample-keeping-agreed"), opened.clock().date()
    sample = find(ledger.samples, sample_id, "sample")
    refuse_disposed(ledger, sample_id)
    refuse_overtaken(ledger, sample_id, seen)
    back_ml = sample.kept_back_ml if kept_back is None else _kept_back(ledger, sample, kept_back)
    days = as_keep_days(keep_days)
    counted = days is not None and keep_until is None  # days from the report replace a day
    fact = KeepingAgreed(
        sample=sample_id,
        priority=sample.priority if priority is None else as_priority(priority),
        due=sample.due if due in (None, sample.due) else as_due(due or "", today),
        keep_until=""
        if counted
        else sample.keep_until
        if keep_until in (None, sample.keep_until)
        else as_keep_until(keep_until or "", today),
        keep_days=sample.keep_days if days is None else days,
        kept_back_ml=back_ml,
        reason=in_words(reason, "reason"),
    )
    opened.record("sample-keeping-agreed", sample_id, fact, key=key)
    return keeping_of(opened, sample_id)


def _kept_back(ledger: Ledger, sample: Sample, volume: Volume) -> Decimal:
    left_ml = volume_left_ml(ledger, sample)
    if not 0 <= volume.ml <= left_ml:
        raise InputError(
            "kept-back-impossible",
            f"{volume.ml:g} mL cannot be kept back of the {max(left_ml, 0.0):g} mL that are left.",
            where="back",
            fix="Keep back no more than is left.",
        )
    return Decimal(repr(volume.ml))


def disposal_list(opened: OpenLaboratory) -> list[Answer]:
    """Return the samples whose retention has ended, then the newest that are finished and kept.

    `may_go`: retention has ended and no dispute is open.
    """
    ledger, today = opened.state, opened.clock().date()
    ended = SampleQuery(states=_FINISHED, kept_before=today.isoformat(), limit=_LISTED)
    newest = SampleQuery(states=("reported",), limit=_LISTED)
    rows = (*opened.sample_rows(ended), *opened.sample_rows(newest))
    samples = dict.fromkeys(row.sample for row in rows)
    listed = [_kept(ledger, ledger.samples[sample], today) for sample in samples]
    return sorted(listed, key=lambda one: (not one["may_go"], one["keep_until"] or "9999"))


def _kept(ledger: Ledger, sample: Sample, today: date) -> Answer:
    until, dispute = retention_end(ledger, sample), _open_dispute(ledger, sample.id)
    return {
        "id": sample.id,
        "description": sample.description,
        "left_ml": volume_left_ml(ledger, sample),
        "keep_until": None if until is None else until.isoformat(),
        "retention": retention_words(ledger, sample, today),
        "dispute": dispute or None,
        "may_go": until is not None and until < today and not dispute,
    }


def disposal_facts(opened: OpenLaboratory, sample_id: str) -> Answer:
    """Return as which waste a sample goes, with its cautions, and what stands against it."""
    ledger, today = opened.state, opened.clock().date()
    sample = find(ledger.samples, sample_id, "sample")
    flash_c, words = _lowest_flash(ledger, sample_id)
    dangers = _stop_list(ledger, sample)
    cautions = disposal_cautions(flash_c, is_waste=sample.is_waste, on_stop_list=bool(dangers))
    return _kept(ledger, sample, today) | {
        "flash_point_at_least_c": flash_c,
        "waste_class": "; ".join([words, *_classes(ledger, sample_id)]),
        "cautions": [*cautions, *dangers],
        "reported": reported_on(ledger, sample_id) is not None,
    }


def dispose(
    opened: OpenLaboratory,
    sample_id: str,
    how: str,
    *,
    early_because: str = "",
    seen: int | None = None,
    key: str | None = None,
) -> Answer:
    """Record that a sample was disposed of, as which waste and with which cautions.

    Refused while a dispute is open or a series under way; before retention has ended it asks why.
    """
    if opened.recorded(key) is not None:
        return keeping_of(opened, sample_id)
    ledger = opened.permit("sample-disposed")
    facts = disposal_facts(opened, sample_id)
    refuse_disposed(ledger, sample_id)
    refuse_overtaken(ledger, sample_id, seen)
    _refuse_needed(ledger, sample_id, facts)
    if not facts["may_go"] and not early_because.strip():
        raise Refused(
            "retention-running",
            f"{sample_id} may not go yet: {facts['retention']}.",
            where=f"sample {sample_id}",
            fix="Keep it, or say why it goes early: --early-because …",
        )
    fact = SampleDisposed(
        sample=sample_id,
        how=in_words(how, "how"),
        waste_class=facts["waste_class"],
        cautions=tuple(facts["cautions"]),
        left_ml=facts["left_ml"],
        early_because="" if facts["may_go"] else early_because.strip(),
    )
    opened.record("sample-disposed", sample_id, fact, key=key)
    return keeping_of(opened, sample_id)


def _refuse_needed(ledger: Ledger, sample: str, facts: Answer) -> None:
    if facts["dispute"]:
        raise Refused(
            "dispute-open",
            f"Dispute {facts['dispute']} on a result of {sample} is open: the sample is evidence.",
            where=f"sample {sample}",
            fix=f"Settle it first: closedcup settle {facts['dispute']} --reason …",
        )
    for test in ledger.tests_of(sample):
        if (series := ledger.series_under_way(test.id)) is not None:
            raise Refused(
                "series-under-way",
                f"Series {series.id} on {sample} is not finished.",
                where=f"sample {sample}",
                fix=f"Finish it or end it with a reason: closedcup bench {series.id}",
            )


def _open_dispute(ledger: Ledger, sample: str) -> str:
    """Return the open dispute on a result of a sample; empty without one."""
    for dispute in ledger.disputes.values():
        if dispute.id in ledger.settled:
            continue
        if ledger.tests[ledger.results[dispute.result].test].sample == sample:
            return dispute.id
    return ""


def _lowest_flash(ledger: Ledger, sample: str) -> tuple[float | None, str]:
    """Return the lowest that the flash point can be, corrected, °C, and what was found, in words.

    None where nothing bounds it from below: no result, or a flash at a limit and no lower test.
    """
    results = [ledger.result_of(test.id) for test in ledger.tests_of(sample)]
    found = [result for result in results if result is not None]
    if not found:
        return None, "flash point not known"
    ends = [
        result.low_corrected_c if result.corrected_c is None else result.corrected_c
        for result in found
    ]
    words = "; ".join(f"{result.statement} ({result.id})" for result in found)
    return min((end for end in ends if end is not None), default=None), words


def _classes(ledger: Ledger, sample: str) -> list[str]:
    said = []
    for test in ledger.tests_of(sample):
        result = ledger.result_of(test.id)
        classified = None if result is None else ledger.classified.get(result.id)
        answers = () if classified is None else classified.answers
        said += [
            f"{answer['regime']}: {answer['classification']}"
            for answer in answers
            if answer["regime"] in _WASTE_REGIMES
        ]
    return list(dict.fromkeys(said))


def _stop_list(ledger: Ledger, sample: Sample) -> list[str]:
    """Return what the stop list says of a sample, by its plans, and what was typed at the desk."""
    said = [f"Known hazard: {each}." for each in sample.hazards]
    for test in ledger.tests_of(sample.id):
        plan = ledger.plans.get(test.id)
        said += [
            f"{item['hazard'].replace('-', ' ').capitalize()}: {item['caution']}"
            for item in (() if plan is None else plan.hazards)
        ]
    return list(dict.fromkeys(said))
