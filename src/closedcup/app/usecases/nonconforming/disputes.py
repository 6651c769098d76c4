"""A disputed result: record the dispute, say what is due next, and settle it.

The steps, in this order: compare a claimed value by R; repeat on the retained sample and compare by
r (a third determination where two differ); where repeats do not agree or no sample is left, a
referee test by an equilibrium method. The order is common practice; a contract may agree another.
"""

from datetime import datetime
from decimal import Decimal
from itertools import pairwise
from typing import Any, Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk.volumes import volume_left_ml
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.methods.methods_on_record import method_of
from closedcup.app.usecases.methods.repeating import repeats
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import ClosedcupError, InputError, Refused
from closedcup.laboratory import Dispute, DisputeSettled, Result
from closedcup.methods import method, methods
from closedcup.metrology import agree
from closedcup.quantities import Temperature
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]

_EQUILIBRIUM: Final = frozenset({"equilibrium", "bath"})


def raise_dispute(
    opened: OpenLaboratory,
    result_id: str,
    reason: str,
    raised_by: str,
    claimed: Temperature | None = None,
    *,
    key: str | None = None,
) -> Answer:
    """Record that a result is disputed; it is not released or reported until that is settled.

    `claimed`: the other laboratory's single result, corrected to 101.3 kPa.
    """
    if (earlier := opened.recorded(key)) is not None:
        return dispute_overview(opened, earlier.subject)
    ledger = opened.state
    result = find(ledger.results, result_id, "result")
    if result_id in ledger.superseded:
        raise InputError(
            "result-superseded",
            f"Result {result_id} was superseded; nothing rests on it.",
            where=f"result {result_id}",
        )
    dispute = Dispute(
        id=f"D-{len(ledger.disputes) + 1:04d}",
        result=result.id,
        raised_by=in_words(raised_by, "raised-by"),
        reason=in_words(reason, "reason"),
        claimed_c=None if claimed is None else Decimal(repr(round(claimed.c, 6))),
        disputed_at=opened.clock().isoformat(),
    )
    opened.record("result-disputed", dispute.id, dispute, key=key)
    return dispute_overview(opened, dispute.id)


def settle_dispute(
    opened: OpenLaboratory, dispute_id: str, reason: str, *, key: str | None = None
) -> Answer:
    """Settle a dispute; Refused while a step is due, unless the result was superseded."""
    if opened.recorded(key) is not None:
        return dispute_overview(opened, dispute_id)
    ledger = opened.state
    dispute = find(ledger.disputes, dispute_id, "dispute")
    if dispute_id in ledger.settled:
        raise InputError(
            "already-settled", f"Dispute {dispute_id} was settled.", where=f"dispute {dispute_id}"
        )
    due = [step for step in _steps(ledger, dispute) if step["state"] == "due"]
    if due and dispute.result not in ledger.superseded:
        raise Refused(
            "step-due",
            f"Dispute {dispute_id} cannot be settled yet: {due[0]['words']}",
            where=f"dispute {dispute_id}",
            fix=due[0]["next"],
        )
    settled = DisputeSettled(dispute_id, in_words(reason, "reason"))
    opened.record("dispute-settled", dispute_id, settled, key=key)
    return dispute_overview(opened, dispute_id)


def dispute_overview(opened: OpenLaboratory, dispute_id: str) -> Answer:
    """Return a dispute with its steps: done, due, not needed or not possible."""
    ledger = opened.state
    dispute = find(ledger.disputes, dispute_id, "dispute")
    settled = ledger.settled.get(dispute_id)
    return {
        "id": dispute.id,
        "result": dispute.result,
        "raised_by": dispute.raised_by,
        "reason": dispute.reason,
        "claimed_c": None if dispute.claimed_c is None else float(dispute.claimed_c),
        "disputed_at": dispute.disputed_at,
        "settled": None if settled is None else settled.reason,
        "superseded": dispute.result in ledger.superseded,
        "steps": _steps(ledger, dispute),
    }


def _steps(ledger: Ledger, dispute: Dispute) -> list[Answer]:
    claim = _claim(ledger, dispute)
    repeat, agreed = _repeat(ledger, dispute)
    if agreed or repeat["state"] == "due":
        referee = _step("referee", "not needed", "The repeats decide.")
    else:
        referee = _referee(ledger, dispute)
    return [claim, repeat, referee]


def _step(name: str, state: str, words: str, following: str = "") -> Answer:
    return {"step": name, "state": state, "words": words, "next": following}


def _claim(ledger: Ledger, dispute: Dispute) -> Answer:
    """Compare with the other laboratory's value: within R nobody is wrong."""
    result = ledger.results[dispute.result]
    if dispute.claimed_c is None:
        return _step("claimed value", "not needed", "No other value was given.")
    if (
        result.corrected_c is None
        or result.repeatability_c is None
        or result.reproducibility_c is None
    ):
        return _step("claimed value", "not possible", f"No R: {result.precision_note}")
    found = agree(
        [result.corrected_c, float(dispute.claimed_c)],
        repeatability_c=result.repeatability_c,
        reproducibility_c=result.reproducibility_c,
        between_laboratories=True,
    )
    said = "within R: the two do not contradict" if found.agree else "more than R apart"
    return _step(
        "claimed value",
        "done",
        f"They differ by {found.difference_c:.2f} °C, R is {found.limit_c:.2f} °C: {said}.",
    )


def _repeat(ledger: Ledger, dispute: Dispute) -> tuple[Answer, bool]:
    """Return the step of repeating on the retained sample, and whether the repeats agree."""
    disputed = ledger.results[dispute.result]
    test = ledger.tests[disputed.test]
    made = [
        result.corrected_c
        for result in _since(ledger, dispute)
        if ledger.tests[result.test].method == test.method and result.corrected_c is not None
    ]
    if disputed.corrected_c is None:
        return _step("repeat", "not possible", "The disputed result is no number."), False
    said, due = "No repeat was made since.", True
    if made:
        try:
            found = repeats(
                test.method,
                tuple(
                    Temperature(Decimal(repr(value)), "degC")
                    for value in (disputed.corrected_c, *made)
                ),
                product=ledger.samples[test.sample].kind or None,
            )
        except ClosedcupError as error:
            return _step("repeat", "not possible", f"r does not decide here: {error.what}"), False
        said = f"{len(made) + 1} results differ by {found['difference_c']:.2f} °C, "
        said += f"{found['limit_c']:.2f} °C is permitted. {found['why']}"
        if not found["another_due"]:
            return _step("repeat", "done", said), True
        if (decided := _two_that_agree(ledger, disputed, made, found["limit_c"])) is not None:
            return decided, True
        due = len(made) < 2  # after a third determination a cause is looked for, not a fourth
    if not due:
        return _step("repeat", "done", said), False
    return _retained(ledger, disputed, said), False


def _two_that_agree(
    ledger: Ledger, disputed: Result, made: list[float], limit_c: float
) -> Answer | None:
    """Let the two of three that agree count, as is common practice; None where no two agree.

    Where the disputed one is not among them, it is to be superseded.
    """
    if len(made) < 2 or disputed.corrected_c is None:
        return None
    ordered = sorted((disputed.corrected_c, *made))
    gap_c, low_c, high_c = min((high - low, low, high) for low, high in pairwise(ordered))
    if gap_c > limit_c + 1e-9:
        return None
    said = f"{low_c:.2f} and {high_c:.2f} °C agree within {limit_c:.2f} °C: "
    if disputed.corrected_c in {low_c, high_c}:
        return _step("repeat", "done", f"{said}{disputed.id} stands.")
    said += f"{disputed.id} is not one of them and is superseded; the repeats are what is reported."
    if disputed.id in ledger.superseded:
        return _step("repeat", "done", said)
    return _step("repeat", "due", said, f"closedcup supersede {disputed.id} --reason … --told …")


def _retained(ledger: Ledger, disputed: Result, said: str) -> Answer:
    test = ledger.tests[disputed.test]
    sample, chosen = ledger.samples[test.sample], method_of(ledger, test.method)
    start_cup_c = ledger.plans[test.id].start_cup_c
    rule = chosen.specimen_rule(sample.kind or chosen.default_product, start_cup_c)
    left_ml = volume_left_ml(ledger, sample)
    retained = f"{left_ml:g} mL of {sample.id} is left, one specimen takes {rule.volume.value:g} mL"
    if left_ml < rule.volume.value:
        return _step("repeat", "not possible", f"{said} {retained}.")
    following = f"closedcup request {sample.id} --method {test.method}"
    return _step("repeat", "due", f"{said} {retained}.", following)


def _referee(ledger: Ledger, dispute: Dispute) -> Answer:
    """Return the step of a test by another method that keeps vapour and liquid in equilibrium."""
    test = ledger.tests[ledger.results[dispute.result].test]
    own = method(test.method)
    others = [
        each.id
        for each in methods()
        if each.procedure in _EQUILIBRIUM and each.designation != own.designation
    ]
    for result in _since(ledger, dispute):
        if ledger.tests[result.test].method in others:
            return _step("referee", "done", f"{result.id}: {result.statement}.")
    if own.procedure in _EQUILIBRIUM:
        words = f"{own.id} is an equilibrium method itself; a second laboratory would decide."
        return _step("referee", "not possible here", words)
    words = f"An equilibrium method decides: {', '.join(others)}."
    return _step("referee", "due", words, f"closedcup request {test.sample} --method {others[0]}")


def _since(ledger: Ledger, dispute: Dispute) -> list[Result]:
    """Return the results in force that were issued on the same sample after the dispute arose."""
    sample = ledger.tests[ledger.results[dispute.result].test].sample
    ids = list(ledger.results)
    raised = datetime.fromisoformat(dispute.disputed_at)
    later = ids[ids.index(dispute.result) + 1 :]
    return [
        result
        for result in (ledger.results[one] for one in later)
        if ledger.tests[result.test].sample == sample
        and result.id not in ledger.superseded
        and datetime.fromisoformat(ledger.issued_at[result.id][0]) >= raised
    ]
