"""Passwords' hashes and sessions, on either engine."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import inspect

from closedcup.records import Store
from closedcup.records.access import Credential, SessionRow, SignIn

NOW, LATER, LATEST = "2026-03-02T07:00:00Z", "2026-03-02T07:15:00Z", "2026-03-02T20:00:00Z"


@pytest.fixture
def access(store: Store):
    store.access.set_password(Credential("at", "hash", NOW))
    return store.access


def try_once(access, at=NOW) -> bool:
    return access.begin_attempt("at", at, most=5, locked_until=LATER)


def test_records_without_accounts_get_no_tables_by_being_asked(store):
    assert store.access.credential("at") is None
    assert store.access.session("x") is None
    assert store.access.noted(5) == []
    with store.reading() as connection:
        assert not inspect(connection).has_table("credentials")


def test_many_attempts_at_once_do_not_outrun_the_lock(access):
    with ThreadPoolExecutor(12) as crowd:
        let_in = list(crowd.map(lambda _: try_once(access), range(24)))
    assert sum(let_in) == 5
    assert not try_once(access)
    assert try_once(access, LATER)


def test_a_right_password_lifts_the_count(access):
    for _ in range(4):
        assert try_once(access)
    access.succeeded("at")
    assert access.credential("at") == Credential("at", "hash", NOW)


def test_nobody_has_attempts_without_an_account(access):
    assert not access.begin_attempt("x", NOW, most=5, locked_until=LATER)


def test_sessions_are_kept_seen_and_ended(access):
    for token in ("one", "two", "three"):
        access.begin_session(SessionRow(token, "at", NOW, NOW), drop_before=NOW)
    access.seen("one", LATER)
    assert access.session("one") == SessionRow("one", "at", NOW, LATER)
    access.end_session("two")
    assert access.session("two") is None
    access.end_sessions("at", but="one")
    assert access.session("three") is None
    access.begin_session(SessionRow("four", "bw", LATEST, LATEST), drop_before=LATEST)
    assert access.session("one") is None, "left alone for longer than any session lasts"


def test_attempts_are_listed_the_newest_first(access):
    for outcome in ("refused", "right password"):
        access.note(SignIn(NOW, "at", outcome))
    assert [each.outcome for each in access.noted(5)] == ["right password", "refused"]
    assert len(access.noted(1)) == 1


def test_credentials_taken_over_replace_none(access):
    access.take_over([Credential("at", "other", NOW), Credential("bw", "hers", NOW)])
    kept = {each.person: each.password_hash for each in access.credentials()}
    assert kept == {"at": "hash", "bw": "hers"}
