"""Which results are in doubt and why: holds, verifications out of control, disputes.

Computed from the records each time, never stored: a hold flags every result back to the last good
check, and a verification out of control does so by itself.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from closedcup.app.usecases.apparatus.verification_due import made_overdue
from closedcup.errors import Refused
from closedcup.laboratory import (
    ApparatusState,
    Hold,
    HoldLifted,
    Result,
    Series,
    Verification,
    reasons_to_hold,
)
from closedcup.records.ledger import Ledger


@dataclass(frozen=True, slots=True)
class Doubt:
    """What speaks against a result: a hold or a verification by its id; `lasts` while it is on."""

    id: str
    words: str
    lasts: bool


def reasons_against(ledger: Ledger, result: Result) -> tuple[str, ...]:
    """Return every reason why a result may not be released or relied on now."""
    said = [doubt.words for doubt in doubts_about(ledger, result)]
    if (superseded := ledger.superseded.get(result.id)) is not None:
        said.append(f"It is superseded: {superseded.reason}")
    said += [
        f"It is disputed ({dispute.id}): {dispute.reason}"
        for dispute in ledger.disputes.values()
        if dispute.result == result.id and dispute.id not in ledger.settled
    ]
    series = ledger.series[result.series]
    if overdue := made_overdue(ledger, result, _made_at(series)):
        said.append(overdue)
    state = ledger.apparatus_state(series.apparatus, ledger.tests[result.test].method)
    return reasons_to_hold(result, state, tuple(said))


def doubts_about(ledger: Ledger, result: Result) -> tuple[Doubt, ...]:
    """Return the holds and verifications that flag a result and that nobody settled yet.

    A superseded result is settled: another one takes its place.
    """
    if result.id in ledger.superseded:
        return ()
    reviewed = ledger.stands.get(result.id, frozenset())
    found = (*_from_holds(ledger, result), *_from_verifications(ledger, result))
    return tuple(doubt for doubt in found if doubt.id not in reviewed)


def flagged_by(ledger: Ledger, doubt_id: str) -> tuple[Result, ...]:
    """Return the results that a hold or a verification still flags."""
    return tuple(
        result
        for result in _within_reach(ledger, doubt_id)
        if any(doubt.id == doubt_id for doubt in doubts_about(ledger, result))
    )


@dataclass(frozen=True, slots=True)
class Window:
    """Where and when results can be in doubt: an apparatus or any, from a moment to another.

    It takes in more than is flagged, so that the others need not be looked at.
    """

    apparatus: str | None
    since: str | None
    until: str | None = None

    def overlaps(self, apparatus: str, begun: str, issued: str) -> bool:
        """Whether a result begun and issued at these moments may be in doubt."""
        return (
            self.apparatus in (None, apparatus)
            and (self.since is None or _moment(self.since) <= _moment(issued))
            and (self.until is None or _moment(begun) <= _moment(self.until))
        )


def windows(ledger: Ledger) -> tuple[Window, ...]:
    """Return where and when any hold or verification can have brought a result into doubt."""
    open_holds = (
        hold
        for hold in ledger.holds.values()
        if not ((lifted := ledger.lifted.get(hold.id)) and lifted.results_stand)
    )
    failed = (
        each for made in ledger.verifications.values() for each in made if not each.in_control
    )
    return (
        *(_window_of_hold(ledger, hold) for hold in open_holds),
        *(_window_of_failure(ledger, each) for each in failed),
    )


def _within_reach(ledger: Ledger, doubt_id: str) -> Iterator[Result]:
    """Yield the results that a hold or a verification can flag at all."""
    hold = ledger.holds.get(doubt_id)
    made = (each for history in ledger.verifications.values() for each in history)
    failed = next((each for each in made if each.id == doubt_id), None)
    if hold is not None:
        window = _window_of_hold(ledger, hold)
    elif failed is not None:
        window = _window_of_failure(ledger, failed)
    else:
        return iter(())
    return ledger.results_issued(apparatus=window.apparatus, since=window.since)


def _window_of_hold(ledger: Ledger, hold: Hold) -> Window:
    lifted = ledger.lifted.get(hold.id)
    until = None if lifted is None else lifted.lifted_at
    if hold.kind != "apparatus":
        return Window(None, hold.since or None, until)
    methods = ledger.apparatus[hold.subject].methods
    good = [last_good_check(ledger, hold.subject, method, hold.held_at) for method in methods]
    checked = [each.verified_at for each in good if each is not None]
    since = min(checked, key=_moment) if checked and len(checked) == len(good) else None
    return Window(hold.subject, hold.since or since, until)


def _window_of_failure(ledger: Ledger, failed: Verification) -> Window:
    before = last_good_check(ledger, failed.apparatus, failed.method, failed.verified_at)
    after = [
        each.verified_at
        for each in ledger.verifications_for(failed.apparatus, failed.method)
        if each.in_control and _moment(each.verified_at) > _moment(failed.verified_at)
    ]
    return Window(
        failed.apparatus,
        None if before is None else before.verified_at,
        after[0] if after else None,
    )


def active_hold(ledger: Ledger, kind: str, subject: str) -> Hold | None:
    """Return the hold that is on something now."""
    for hold in ledger.holds.values():
        if (hold.kind, hold.subject) == (kind, subject) and hold.id not in ledger.lifted:
            return hold
    return None


def refuse_held(ledger: Ledger, kind: str, subject: str) -> None:
    """Raise Refused while a hold is on an apparatus, a lot or a person."""
    hold = active_hold(ledger, kind, subject)
    if hold is not None:
        raise Refused(
            f"{kind}-held",
            f"{subject} is held ({hold.id}): {hold.reason}",
            where=f"{kind} {subject}",
            fix=f"Once the cause is removed: closedcup lift {hold.id} --reason …",
        )


def refuse_out_of_control(ledger: Ledger, apparatus: str, method: str) -> None:
    """Raise Refused where the last verification of an apparatus for a method is out of control."""
    if ledger.apparatus_state(apparatus, method) is ApparatusState.OUT_OF_CONTROL:
        last = ledger.verifications_for(apparatus, method)[-1]
        raise Refused(
            "apparatus-out-of-control",
            f"{apparatus} is held by its last verification {last.id}, which is out of control.",
            where=f"apparatus {apparatus}",
            fix="Find the cause, then verify again: closedcup verify",
        )


def last_good_check(
    ledger: Ledger, apparatus: str, method: str, before: str
) -> Verification | None:
    """Return the last verification in control up to a moment."""
    good = [
        each
        for each in ledger.verifications_for(apparatus, method)
        if each.in_control and _moment(each.verified_at) <= _moment(before)
    ]
    return good[-1] if good else None


def _from_holds(ledger: Ledger, result: Result) -> Iterator[Doubt]:
    for hold in ledger.holds.values():
        lifted = ledger.lifted.get(hold.id)
        if lifted is not None and lifted.results_stand:
            continue
        if not _touches(ledger, hold, lifted, result):
            continue
        if lifted is None:
            words = f"{hold.kind.capitalize()} {hold.subject} is held ({hold.id}): {hold.reason}"
        else:
            words = f"Hold {hold.id} on {hold.subject} was lifted; this result is to be reviewed."
        yield Doubt(hold.id, words, lasts=lifted is None)


def _touches(ledger: Ledger, hold: Hold, lifted: HoldLifted | None, result: Result) -> bool:
    series = ledger.series[result.series]
    made = _made_at(series)
    if lifted is not None and made > _moment(lifted.lifted_at):
        return False
    match hold.kind:
        case "person":
            return hold.subject in _people(series) and made >= _moment(hold.since)
        case "material":
            check = _rests_on(ledger, result)
            if check is None or check.material != hold.subject:
                return False
            return not hold.since or _moment(check.verified_at) >= _moment(hold.since)
        case "apparatus":
            if series.apparatus != hold.subject:
                return False
            if hold.since:
                return made >= _moment(hold.since)
            method = ledger.tests[result.test].method
            good = last_good_check(ledger, series.apparatus, method, hold.held_at)
            return good is None or made > _moment(good.verified_at)


def _from_verifications(ledger: Ledger, result: Result) -> Iterator[Doubt]:
    """Doubt a result made between the last good check and the next one, if one between failed."""
    series = ledger.series[result.series]
    made = _made_at(series)
    checks = ledger.verifications_for(series.apparatus, ledger.tests[result.test].method)
    failed: list[Verification] = []
    for check in checks:
        if not check.in_control:
            failed.append(check)
        elif _moment(check.verified_at) < made:
            failed = []
        else:
            break
    if failed:
        first = failed[0]
        words = (
            f"Verification {first.id} is out of control, and this result was made since the last "
            "good check: it is to be reviewed."
        )
        yield Doubt(first.id, words, lasts=failed[-1] is checks[-1])


def _rests_on(ledger: Ledger, result: Result) -> Verification | None:
    """Return the verification that lets a result be released: the one at issue, or the next."""
    apparatus = ledger.series[result.series].apparatus
    checks = ledger.verifications_for(apparatus, ledger.tests[result.test].method)
    ids = [check.id for check in checks]
    start = ids.index(result.verification) if result.verification in ids else 0
    return next((check for check in checks[start:] if check.in_control), None)


def _made_at(series: Series) -> datetime:
    """Return when the last determination was made, not when its result was issued."""
    return _moment(series.moves[-1].observed_at if series.moves else series.begun_at)


def _people(series: Series) -> set[str]:
    seen = {recorded.by for recorded in series.moves}
    return seen | {recorded.entered_by for recorded in series.moves} | {series.analyst}


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text)
