"""What is settled with the customer: testing in spite of a poor condition, results off limits."""

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk.view import Answer, keeping_of
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.moments import read_moment
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import InputError, Refused
from closedcup.laboratory import Sample
from closedcup.laboratory.sample_keeping import (
    ConditionQuestioned,
    GoAhead,
    OutOfSpecificationTold,
    entries_of,
    last_of,
)
from closedcup.records.ledger import Ledger
from closedcup.records.standing import waits


def question_condition(
    opened: OpenLaboratory, sample_id: str, what: str, *, key: str | None = None
) -> Answer:
    """Record that a sample's condition makes results doubtful: testing waits for the customer."""
    if opened.recorded(key) is None:
        find(opened.permit("sample-condition-questioned").samples, sample_id, "sample")
        fact = ConditionQuestioned(sample_id, in_words(what, "what"))
        opened.record("sample-condition-questioned", sample_id, fact, key=key)
    return keeping_of(opened, sample_id)


def record_go_ahead(
    opened: OpenLaboratory,
    sample_id: str,
    customer: str,
    way: str,
    words: str,
    *,
    proceed: bool = True,
    said_at: str | None = None,
    key: str | None = None,
) -> Answer:
    """Record who of the customer said what, when and by which way (telephone, letter, …).

    InputError where nothing was asked of the customer.
    """
    if opened.recorded(key) is not None:
        return keeping_of(opened, sample_id)
    ledger = opened.permit("go-ahead-recorded")
    sample = find(ledger.samples, sample_id, "sample")
    if not is_questioned(ledger, sample):
        raise InputError(
            "nothing-asked",
            f"The condition of {sample_id} was not questioned; testing waits for nobody.",
            where=f"sample {sample_id}",
            fix=f"If it should: closedcup question-condition {sample_id} --what …",
        )
    fact = GoAhead(
        sample=sample_id,
        customer=in_words(customer, "from"),
        said_at=_when(opened, said_at),
        way=in_words(way, "way"),
        proceed=proceed,
        words=in_words(words, "words"),
    )
    opened.record("go-ahead-recorded", sample_id, fact, key=key)
    return keeping_of(opened, sample_id)


def tell_out_of_specification(
    opened: OpenLaboratory,
    result_id: str,
    told: str,
    way: str,
    said: str,
    *,
    told_at: str | None = None,
    key: str | None = None,
) -> Answer:
    """Log that a customer was told of a result outside its limit, and what they said."""
    if (earlier := opened.recorded(key)) is not None:
        return keeping_of(opened, earlier.subject)
    ledger = opened.permit("out-of-specification-told")
    result = find(ledger.results, result_id, "result")
    test = ledger.tests[result.test]
    if not test.limits:
        raise InputError(
            "limit-missing",
            f"No limit was agreed for {test.id}: its result is outside none.",
            where=f"result {result_id}",
            fix="A limit is agreed when the test is requested.",
        )
    fact = OutOfSpecificationTold(
        sample=test.sample,
        result=result_id,
        told=in_words(told, "told"),
        told_at=_when(opened, told_at),
        way=in_words(way, "way"),
        said=in_words(said, "said"),
    )
    opened.record("out-of-specification-told", test.sample, fact, key=key)
    return keeping_of(opened, test.sample)


def _when(opened: OpenLaboratory, text: str | None) -> str:
    now = opened.clock()
    if not text:
        return now.isoformat()
    moment = read_moment(text)
    if moment > now:
        raise InputError(
            "moment-to-come", f"{text} is still to come.", where="at", fix="Say when it was."
        )
    return moment.isoformat()


def is_questioned(ledger: Ledger, sample: Sample) -> bool:
    """Whether the condition of a sample was questioned, on receipt or later."""
    log = ledger.keeping.get(sample.id, ())
    return sample.in_doubt or bool(entries_of(log, ConditionQuestioned))


def refuse_without_go_ahead(ledger: Ledger, sample: Sample) -> None:
    """Raise Refused while testing waits for the customer, or where the customer said no."""
    if not waits(ledger, sample):
        return
    last = last_of(ledger.keeping.get(sample.id, ()), GoAhead)
    said = (
        f"The condition of {sample.id} was questioned, and the customer was not heard yet."
        if last is None or last.proceed
        else f"{last.customer} asked not to test {sample.id}: {last.words}"
    )
    raise Refused(
        "go-ahead-missing",
        said,
        where=f"sample {sample.id}",
        fix="Ask the customer and record the answer: "
        f"closedcup go-ahead {sample.id} --from … --way … --words …",
    )


def condition_deviations(ledger: Ledger, sample: Sample) -> list[str]:
    """Return what the report says of a poor condition (ISO/IEC 17025:2017, 7.4.3)."""
    if not is_questioned(ledger, sample):
        return []
    log = ledger.keeping.get(sample.id, ())
    questioned = [fact.what for _, fact in entries_of(log, ConditionQuestioned)]
    what = "; ".join([*([sample.condition] if sample.in_doubt else []), *questioned])
    said = last_of(log, GoAhead)
    agreed = (
        "The customer was not asked."
        if said is None
        else f"Tested at the request of {said.customer} ({said.way}, {said.said_at[:10]}): "
        f"{said.words}"
    )
    said_of_it = f"Condition of the sample: {what}. {agreed.rstrip('.')}."
    return [f"{said_of_it} The flash point may be affected by it."]
