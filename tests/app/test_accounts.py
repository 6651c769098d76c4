"""Accounts: who gets in, who does not, and what the program tells to those who try."""

import shutil
import sys
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from importlib import import_module
from pathlib import Path

import pytest

from closedcup.app.opening import OpenLaboratory, open_laboratory
from closedcup.app.usecases.apparatus import establishing
from closedcup.app.usecases.people import accounts, passwords, signing_in
from closedcup.errors import InputError, Refused
from closedcup.laboratory import Person, Site
from closedcup.records import open_store
from closedcup.records.access_rules import access_rules
from closedcup.records.backups import back_up
from closedcup.records.copying import copy_records

LEAD, OTHER, NEW = "four wet horses jump", "tall green cups of tea", "seven slow barges home"
COSTLY = passwords.hasher
RULES = access_rules()


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a laboratory with a quality lead, an analyst and a reviewer with accounts."""
    file = tmp_path_factory.mktemp("accounts") / "lab.sqlite"
    begins = datetime.fromisoformat("2026-03-02T07:00:00+01:00")
    with open_laboratory(f"sqlite:///{file.as_posix()}", by="cp", clock=lambda: begins) as made:
        establishing.establish(made, Site("Test house", "1 Lane", "desk", 1520.0))
        for person, role in (("at", "analyst"), ("bw", "reviewer"), ("cp", "quality lead")):
            establishing.register_person(made, Person(person, role), f"{person[0]}. Tern")
        accounts.make_account(made, "cp", password=LEAD)
        signing_in.sign_in(made, "cp", LEAD)
        for person in ("at", "bw"):
            start = accounts.make_account(made, person)["start_password"]
            signing_in.sign_in(made, person, start, new_password=f"{OTHER} {person}")
            made.by = "cp"
    return file


@pytest.fixture
def staffed(furnished: Path, database: str, clock) -> Iterator[OpenLaboratory]:
    """The laboratory with accounts, opened for its quality lead."""
    shutil.copy(furnished, database.removeprefix("sqlite:///"))
    with open_laboratory(database, by="cp", clock=clock) as opened:
        opened.signed_in = True
        yield opened


@pytest.fixture
def as_person(staffed: OpenLaboratory) -> Callable[[str], str]:
    """Sign a person in; return the token."""

    def come(person: str) -> str:
        password = LEAD if person == "cp" else f"{OTHER} {person}"
        return signing_in.sign_in(staffed, person, password)

    return come


def refused(function: Callable[..., object], *arguments: object, **named: object) -> str:
    with pytest.raises((Refused, InputError)) as told:
        function(*arguments, **named)
    return told.value.kind


def test_one_user_on_this_pc_needs_no_password(opened):
    assert not opened.has_accounts
    establishing.register_person(opened, Person("x", "analyst"), "X")
    assert opened.state.people["x"]


def test_the_first_account_is_a_quality_leads(opened):
    assert refused(accounts.make_account, opened, "at", password=LEAD) == "first-account"
    assert not opened.has_accounts


def test_from_the_first_account_on_nothing_is_done_without_signing_in(staffed):
    staffed.signed_in = False
    before = staffed.store.head()
    assert refused(lambda: staffed.state) == "sign-in-needed"
    assert refused(staffed.record, "sample-received", "S-9", {}) == "sign-in-needed"
    assert staffed.store.head() == before


@pytest.mark.parametrize("person", ["nobody", "cp", "bw", "at"])
def test_whoever_fails_hears_the_same(staffed, person):
    """No account, a wrong password, a disabled account and a locked one cannot be told apart."""
    accounts.disable_account(staffed, "bw", "left")
    for _ in range(RULES.failures_until_locked):
        refused(signing_in.sign_in, staffed, "at", "wrong and wrong again")
    password = f"{OTHER} {person}" if person != "cp" else "wrong and wrong again"
    with pytest.raises(Refused) as told:
        signing_in.sign_in(staffed, person, password)
    with pytest.raises(Refused) as another:
        signing_in.sign_in(staffed, "nobody", "wrong and wrong again")
    assert told.value.as_json() == another.value.as_json()


def test_an_account_locks_after_failures_and_opens_again_by_the_clock(staffed, clock, as_person):
    for _ in range(RULES.failures_until_locked):
        refused(signing_in.sign_in, staffed, "at", "wrong and wrong again")
    assert refused(as_person, "at") == "sign-in-refused"
    told = {each["person"]: each["locked_until"] for each in accounts.people_and_accounts(staffed)}
    assert told == {"at": "2026-03-02T06:15:00Z", "bw": None, "cp": None}
    clock.forward(minutes=RULES.locked_minutes - 1)
    assert refused(as_person, "at") == "sign-in-refused"
    clock.forward(minutes=1)
    assert as_person("at")


def test_failures_before_a_success_are_forgotten(staffed, as_person):
    for _ in range(3):
        for _ in range(RULES.failures_until_locked - 1):
            refused(signing_in.sign_in, staffed, "at", "wrong and wrong again")
        assert as_person("at")


def test_each_attempt_is_written_down_and_never_what_was_typed(staffed, as_person):
    refused(signing_in.sign_in, staffed, "my secret typed in the wrong field", "x")
    refused(signing_in.sign_in, staffed, "at", "x")
    as_person("cp")
    noted = [(each["person"], each["outcome"]) for each in accounts.sign_ins(staffed, 3)]
    assert noted == [("cp", "right password"), ("at", "refused"), (None, "refused")]


def test_a_session_ends_when_left_alone_and_after_a_shift(staffed, clock, as_person):
    token = as_person("at")
    for _ in range(RULES.longest_minutes // (RULES.idle_minutes - 5)):
        clock.forward(minutes=RULES.idle_minutes - 5)
        assert signing_in.resume(staffed, token)
    clock.forward(minutes=RULES.idle_minutes - 5)
    assert not signing_in.resume(staffed, token), "used all the time, it lasts no longer than that"
    token = as_person("at")
    clock.forward(minutes=RULES.idle_minutes)
    assert not signing_in.resume(staffed, token)
    assert staffed.store.access.session(signing_in._digest(token)) is None


def test_a_token_is_kept_as_its_hash_only(staffed, as_person, database):
    token = as_person("at")
    stored = Path(database.removeprefix("sqlite:///")).read_bytes()
    assert token.encode() not in stored
    assert f"{OTHER} at".encode() not in stored
    assert len(token) >= RULES.token_bytes * 8 / 6
    assert as_person("at") != token


def test_signing_out_ends_the_session_in_the_records(staffed, as_person):
    token = as_person("at")
    signing_in.sign_out(staffed, token)
    assert not signing_in.resume(staffed, token)


def test_a_disabled_account_is_out_at_once_and_never_deleted(staffed, as_person):
    token = as_person("at")
    as_person("cp")
    accounts.disable_account(staffed, "at", "left the laboratory")
    assert not signing_in.resume(staffed, token)
    as_person("cp")
    told = {each["person"]: each["account"] for each in accounts.people_and_accounts(staffed)}
    assert told["at"] == "disabled"
    accounts.enable_account(staffed, "at", "came back")
    assert as_person("at")


def test_a_role_given_or_taken_holds_at_once_in_a_session_under_way(staffed, as_person):
    token = as_person("bw")
    staffed.permit("result-released")
    as_person("cp")
    accounts.take_role(staffed, "bw", "reviewer", "new post")
    accounts.give_role(staffed, "bw", "analyst", "new post")
    assert signing_in.resume(staffed, token)
    assert refused(staffed.permit, "result-released") == "right-missing"
    staffed.permit("series-begun")


def test_nobody_gives_themselves_a_role(staffed, as_person):
    as_person("at")
    assert refused(accounts.give_role, staffed, "at", "quality lead", "so") == "right-missing"


def test_the_last_quality_lead_stays(staffed):
    assert refused(accounts.disable_account, staffed, "cp", "leaves") == "last-quality-lead"
    take = (staffed, "cp", "quality lead", "leaves")
    assert refused(accounts.take_role, *take) == "last-quality-lead"
    accounts.give_role(staffed, "bw", "quality lead", "takes over")
    accounts.take_role(*take)


def test_a_password_handed_over_is_replaced_and_does_not_last(staffed, clock):
    start = accounts.give_password(staffed, "at")["start_password"]
    assert refused(signing_in.sign_in, staffed, "at", start) == "new-password-needed"
    same = (staffed, "at", start)
    assert refused(signing_in.sign_in, *same, new_password=start) == "password-the-same"
    assert refused(signing_in.sign_in, *same, new_password="too short") == "password-weak"
    clock.now += timedelta(days=RULES.temporary_days, seconds=1)
    assert refused(signing_in.sign_in, *same, new_password=NEW) == "sign-in-refused"


def test_a_changed_password_ends_the_sessions_elsewhere(staffed, as_person):
    elsewhere, here = as_person("at"), as_person("at")
    signing_in.change_password(staffed, here, f"{OTHER} at", NEW)
    assert signing_in.resume(staffed, here)
    assert not signing_in.resume(staffed, elsewhere)
    assert refused(as_person, "at") == "sign-in-refused"


@pytest.mark.parametrize(
    "password",
    ["four wet horse", "a" * 15, "abcdefghijklmnopqrst", "A. Tern Test house", "qx7 " * 65],
)
def test_a_weak_password_is_refused(password):
    with pytest.raises(InputError):
        passwords.refuse_weak(password, known=("at", "A. Tern", "Test house"))


@pytest.mark.parametrize("password", [LEAD, "Grün ist die Heide im Mai", "qq7-ffw2-zkd9-lm3"])
def test_no_composition_is_asked_of_a_long_password(password):
    passwords.refuse_weak(password, known=("at", "A. Tern", "Test house"))


def test_a_hash_is_argon2id_at_the_costs_of_the_table(monkeypatch):
    monkeypatch.setattr(passwords, "hasher", COSTLY)
    kept = passwords.hash_of(LEAD)
    assert kept.startswith("$argon2id$v=19$m=47104,t=1,p=1$")
    assert passwords.matches(kept, LEAD)
    assert not passwords.matches(kept, OTHER)
    assert not passwords.matches(None, LEAD)


def test_whoever_holds_the_records_gets_an_account_back_and_the_history_says_so(staffed):
    accounts.give_role(staffed, "bw", "quality lead", "for a while")
    accounts.disable_account(staffed, "cp", "lost")
    staffed.signed_in = False
    accounts.recover_account(staffed, "cp", NEW)
    last = list(staffed.store.read())[-1]
    assert (last.type, last.subject, last.by) == ("account-recovered", "cp", "console")
    assert refused(staffed.record, "sample-received", "S-9", {}) == "sign-in-needed"
    signing_in.sign_in(staffed, "cp", NEW)


def test_accounts_move_with_the_laboratory_and_backups_hold_no_password(staffed, tmp_path):
    url = f"sqlite:///{(tmp_path / 'moved.sqlite').as_posix()}"
    with open_store(url) as target:
        copy_records(staffed.store, target)
    with open_laboratory(url, clock=staffed.clock) as moved:
        signing_in.sign_in(moved, "at", f"{OTHER} at")
    taken = "2026-03-02T08:00:00Z"
    file = back_up(staffed.store, tmp_path / "backups", taken_at=taken, program="0")
    assert b"$argon2id$" not in file.read_bytes()


def test_the_command_line_acts_for_whoever_signed_in(staffed, command, monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.delenv("CLOSEDCUP_PERSON")
    module = import_module("closedcup.app.cli.accounts")
    monkeypatch.setattr(module, "ask_password", lambda *_, **__: f"{OTHER} at")
    assert command("working-rules")[0] == 3
    assert command("sign-in", "at")[0] == 0
    (kept,) = (tmp_path / "data" / "closedcup").iterdir()
    assert kept.stat().st_mode & 0o077 == 0 or sys.platform == "win32"
    assert command("working-rules")[0] == 0
    status, _, told = command("working-rules", "--four-eyes", "--reason", "so")
    assert (status, "not among your rights" in told) == (3, True)
    assert "signed in as at" in command("working-rules", "--by", "bw")[2]
    assert command("sign-out")[0] == 0
    assert command("working-rules")[0] == 3
