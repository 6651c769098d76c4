"""Signatures, four eyes and authorisation, on a result made from beginning to end."""

import json

import pytest

from closedcup.app.usecases.apparatus import establishing, verifying
from closedcup.app.usecases.bench import beginning, benching
from closedcup.app.usecases.people import accounts, qualifying, signing, signing_in, working_rules
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.results import reporting, results
from closedcup.errors import InputError, Refused
from closedcup.laboratory import Person
from closedcup.quantities import parse_pressure, parse_temperature

PRESSURE = parse_pressure("84.1 kPa")
PASSWORD = "four wet horses jump"


def refused(function, *arguments, **named) -> str:
    with pytest.raises((Refused, InputError)) as told:
        function(*arguments, **named)
    return told.value.kind


@pytest.fixture
def act(opened):
    """Let somebody act, as if signed in."""

    def by(person: str) -> None:
        opened.by, opened.signed_in = person, opened.has_accounts

    return by


@pytest.fixture
def staffed(opened, act):
    """The laboratory with accounts: `at` an analyst, `bw` a reviewer, `cp` the quality lead."""
    establishing.register_person(opened, Person("cp", "quality lead"), "C. Plover")
    accounts.make_account(opened, "cp", password=PASSWORD)
    for person in ("at", "bw"):
        act("cp")
        start = accounts.make_account(opened, person)["start_password"]
        signing_in.sign_in(opened, person, start, new_password=PASSWORD)
    return opened


@pytest.fixture
def make_result(opened, request_test, follow, act):
    """Make a result as the analyst; it is not released."""

    def make() -> str:
        act("at")
        values = tuple(parse_temperature(f"{value} degC") for value in (49.5, 50.0))
        verifying.verify_apparatus(opened, "SC-1", "RM-1", values)
        test = request_test()
        planning.make_plan(opened, test.id, "SC-1", PRESSURE)
        series = beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")
        follow(series.id, 10.0)
        return results.issue_result(opened, test.id).id

    return make


def test_a_signature_is_sealed_with_its_meaning_and_what_was_signed(staffed, make_result, act):
    result = make_result()
    signing.sign_result(staffed, result, "performed", PASSWORD)
    act("bw")
    told = signing.sign_result(staffed, result, "approved", PASSWORD)
    assert [(each["person"], each["meaning"]) for each in told["signatures"]] == [
        ("at", "performed"),
        ("bw", "approved"),
    ]
    assert all(each["intact"] for each in told["signatures"])
    events = list(staffed.store.read())
    signed = events[-1].body
    (issued,) = [event for event in events if event.type == "result-issued"]
    assert (signed["signed_number"], signed["signed_seal"]) == (issued.seq, issued.seal)


def test_the_report_shows_who_signed_as_what(staffed, make_result, act):
    result = make_result()
    signing.sign_result(staffed, result, "performed", PASSWORD)
    act("bw")
    signing.sign_result(staffed, result, "reviewed", PASSWORD)
    results.release_result(staffed, result)
    number = reporting.issue_report(staffed, result).number
    record = json.loads(reporting.report_record(staffed, number))
    shown = [(each["by"], each["meaning"], each["seal_number"]) for each in record["signatures"]]
    numbers = {event.seq for event in staffed.store.read() if event.type == "result-issued"}
    assert [each[:2] for each in shown] == [("at", "performed"), ("bw", "reviewed")]
    assert {each[2] for each in shown} == numbers


def test_a_signature_takes_the_password_again_and_failures_lock(staffed, make_result, act):
    result = make_result()
    before = staffed.store.head()
    for _ in range(5):
        wrong = refused(signing.sign_result, staffed, result, "performed", "wrong and wrong")
        assert wrong == "sign-in-refused"
    assert refused(signing.sign_result, staffed, result, "performed", PASSWORD) == "sign-in-refused"
    assert staffed.store.head() == before


@pytest.mark.parametrize(
    ("person", "meaning", "kind"),
    [
        ("at", "reviewed", "right-missing"),
        ("at", "approved", "right-missing"),
        ("bw", "performed", "right-missing"),
        ("bw", "liked", "meaning-unknown"),
    ],
)
def test_only_ones_own_part_is_signed(staffed, make_result, act, person, meaning, kind):
    result = make_result()
    act(person)
    assert refused(signing.sign_result, staffed, result, meaning, PASSWORD) == kind


def test_signing_the_same_again_changes_nothing(staffed, make_result):
    result = make_result()
    once = signing.sign_result(staffed, result, "performed", PASSWORD)
    assert signing.sign_result(staffed, result, "performed", PASSWORD) == once


def test_without_accounts_nobody_can_sign(opened, make_result):
    kind = refused(signing.sign_result, opened, make_result(), "performed", PASSWORD)
    assert kind == "accounts-needed"


def test_four_eyes_where_the_laboratory_asks_for_it(opened, make_result, act):
    result = make_result()
    working_rules.decide_rules(opened, four_eyes=True, authorisation=None, reason="audit of May")
    assert refused(results.release_result, opened, result) == "four-eyes"
    act("bw")
    results.release_result(opened, result)
    act("at")
    assert refused(reporting.issue_report, opened, result) == "four-eyes"
    act("bw")
    assert reporting.issue_report(opened, result).authorised_by == "bw"


def test_without_that_rule_one_person_does_it_all(opened, make_result):
    result = make_result()
    results.release_result(opened, result)
    assert reporting.issue_report(opened, result).authorised_by == "at"


def test_with_two_roles_four_eyes_still_hold(staffed, make_result, act):
    act("cp")
    accounts.give_role(staffed, "at", "reviewer", "short of staff")
    working_rules.decide_rules(staffed, four_eyes=True, authorisation=None, reason="so")
    result = make_result()
    assert refused(results.release_result, staffed, result) == "four-eyes"
    assert refused(signing.sign_result, staffed, result, "reviewed", PASSWORD) == "four-eyes"
    act("bw")
    results.release_result(staffed, result)


def test_an_analyst_neither_releases_nor_decides(staffed, make_result):
    result = make_result()
    assert refused(results.release_result, staffed, result) == "right-missing"
    decide = {"four_eyes": False, "authorisation": False, "reason": "in the way"}
    assert refused(working_rules.decide_rules, staffed, **decide) == "right-missing"


def test_a_review_of_hazards_is_the_reviewers_own(staffed, request_test, act):
    act("at")
    test = request_test()
    review = {"proceed": True, "conditions": "screen down"}
    planning.make_plan(staffed, test.id, "SC-1", PRESSURE)
    kind = refused(planning.review_hazards, staffed, test.id, "bw", **review)
    assert kind == "not-the-reviewer"


@pytest.fixture
def authorising(opened):
    """The laboratory asks for authorisation by method."""
    decide = {"four_eyes": None, "authorisation": True, "reason": "scope of accreditation"}
    working_rules.decide_rules(opened, **decide)
    return opened


@pytest.fixture
def grant(opened, act):
    def granted(person="at", method="d3828-b", until="2026-12-31", **more):
        act("cp")
        evidence = {"evidence": "three results within r", **more}
        return qualifying.grant(opened, person, method, until=until, **evidence)["id"]

    return granted


@pytest.fixture
def begin(opened, request_test, act):
    def begun():
        act("at")
        test = request_test()
        planning.make_plan(opened, test.id, "SC-1", PRESSURE)
        return beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station").id

    return begun


def test_no_series_without_the_authorisation_asked_for(authorising, begin, grant):
    assert refused(begin) == "not-authorised"
    grant()
    assert begin()


@pytest.mark.parametrize(
    "ends",
    [
        pytest.param(lambda opened, _: opened.clock.forward(days=400), id="expired"),
        pytest.param(
            lambda opened, granted: qualifying.withdraw_qualification(opened, granted, "errors"),
            id="withdrawn",
        ),
    ],
)
def test_an_authorisation_that_ended_stops_the_determinations_too(
    authorising, begin, grant, act, ends
):
    granted = grant()
    series = begin()
    act("cp")
    ends(authorising, granted)
    act("at")
    step = benching.bench(authorising, series).instruction
    assert refused(benching.set_cup, authorising, series, step.cup_c) == "not-authorised"
    assert refused(begin) == "not-authorised"
    benching.note_deviation(authorising, series, "stopped: authorisation ended")


def test_authorisation_is_for_a_method_and_for_what_is_done_the_same_way(authorising, begin, grant):
    grant(method="d93-a")
    assert refused(begin) == "not-authorised"


def test_who_saw_a_determination_must_be_authorised_not_who_types_it(authorising, begin, grant):
    grant()
    series = begin()
    step = benching.bench(authorising, series).instruction
    other = {"observed_by": "bw"}
    assert refused(benching.set_cup, authorising, series, step.cup_c, **other) == "not-authorised"


def test_where_it_is_kept_but_not_asked_for_the_bench_warns(opened, begin, grant):
    assert not [each for each in benching.bench(opened, begin()).warnings if "authorised" in each]
    grant("bw")
    (warning,) = [each for each in benching.bench(opened, begin()).warnings if "authorised" in each]
    assert "no qualification is on record" in warning


def test_evidence_is_a_verification_that_the_person_made_in_control(opened, grant, act):
    act("at")
    for values in ((49.5, 50.0), (60.0, 60.5)):
        repeats = tuple(parse_temperature(f"{value} degC") for value in values)
        verifying.verify_apparatus(opened, "SC-1", "RM-1", repeats)
    assert grant(verifications=("SC-1-V1",))
    assert refused(grant, verifications=("SC-1-V2",)) == "evidence-unfit"
    assert refused(grant, "bw", verifications=("SC-1-V1",)) == "evidence-unfit"
    assert refused(grant, method="d93-a", verifications=("SC-1-V1",)) == "evidence-unfit"
    assert refused(grant, until="2026-01-01") == "date-past"
    assert refused(grant, evidence=" ") == "evidence-missing"
