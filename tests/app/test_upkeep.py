"""Failures that the program finds, backups on record, issued results computed again."""

import json
import os
import sys
from collections.abc import Iterator
from dataclasses import replace
from importlib import import_module
from pathlib import Path

import pytest

from closedcup.app.usecases.apparatus import establishing
from closedcup.app.usecases.bench import beginning
from closedcup.app.usecases.nonconforming import failures
from closedcup.app.usecases.people import accounts
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.records import backups, recomputing, records
from closedcup.app.usecases.results import results
from closedcup.errors import InputError, Refused
from closedcup.laboratory import Person
from closedcup.quantities import parse_pressure

PRESSURE = parse_pressure("84.1 kPa")
sys.path[:0] = [str(Path(__file__).parents[1] / "records")]
sys.path[:0] = [str(Path(__file__).parents[1])]
change = import_module("tampering").change
quick_records = import_module("quick_records").quick_records


@pytest.fixture(autouse=True, scope="module")
def quickly() -> Iterator[None]:
    """Wait for no disk."""
    with quick_records():
        yield


@pytest.fixture
def issued(opened, request_test, follow, clock):
    """Issue a result."""
    test = request_test()
    planning.make_plan(opened, test.id, "SC-1", PRESSURE)
    clock.forward(minutes=5)
    series = beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")
    follow(series.id, 40.0)
    return results.issue_result(opened, test.id)


def register(opened):
    return [row["what"] for row in failures.failures(opened)]


def test_a_failed_backup_is_noted_once_until_something_was_done(opened, command, tmp_path):
    taken = tmp_path / "a file, no folder"
    taken.write_text("x")
    for _ in range(2):
        status, _, said = command("backup", str(taken), "--json")
        assert (status, "F-0001" in said) == (2, True)
    assert len(register(opened)) == 1
    failures.take_action(opened, "F-0001", "another disk")
    command("backup", str(taken))
    assert len(register(opened)) == 2


def test_a_backup_and_its_rehearsal_are_on_record_and_the_rule_warns(
    opened, command, tmp_path, clock
):
    assert "No backup is on record" in records.status(opened)["backups"]["warnings"][0]
    status, out, _ = command("backup", str(tmp_path / "kept"), "--json")
    answer = json.loads(out)
    assert (status, answer["not_recorded"]) == (0, None)
    assert json.loads(command("restore", answer["file"], "--json")[1])["not_recorded"] is None
    backups.decide_rule(opened, 1, 31, "each night")
    told = records.status(opened)["backups"]
    assert (told["last_backup"]["seal"], told["last_rehearsal"]["whole"]) == (answer["seal"], True)
    clock.now = opened.clock().fromisoformat(answer["taken_at"])
    assert records.status(opened)["backups"]["warnings"] == []
    clock.forward(days=2)
    [warning] = records.status(opened)["backups"]["warnings"]
    assert "one every day" in warning
    with pytest.raises(InputError, match="0 days"):
        backups.decide_rule(opened, 0, 31, "never")
    assert "backup rule" in command("status")[1]


def test_a_nightly_task_signs_nobody_in_and_may_only_say_what_it_did(opened, command, tmp_path):
    establishing.register_person(opened, Person("cp", "quality lead"), "C. Plover")
    accounts.make_account(opened, "cp", password="four wet horses jump")
    answer = json.loads(command("backup", str(tmp_path / "kept"), "--json")[1])
    assert answer["not_recorded"] is None
    assert command("restore", answer["file"])[0] == 0
    taken = tmp_path / "a file"
    taken.write_text("x")
    assert "F-0001" in command("backup", str(taken))[2]
    told = [event for event in opened.store.read() if event.by == accounts.CONSOLE]
    assert {event.type for event in told} == {
        "backup-taken",
        "restore-rehearsed",
        "system-failure-noted",
    }
    assert command("backup-rule", "--days", "1", "--reason", "x", "--json")[0] == 3
    assert command("recompute", "--json")[0] == 3


def test_a_backup_that_cannot_be_restored_is_a_failure(opened, command, tmp_path):
    file = Path(json.loads(command("backup", str(tmp_path / "kept"), "--json")[1])["file"])
    file.write_bytes(file.read_bytes()[:-4096])
    for _ in range(2):
        assert command("restore", str(file), "--json")[0] == 4
    assert len(register(opened)) == 1
    assert "cannot be restored" in register(opened)[0]
    assert any("rehearsal failed" in line for line in records.status(opened)["backups"]["warnings"])


def test_damage_is_told_and_noted_or_said_why_not(opened, command, database, issued):
    opened.close()
    change(database, "UPDATE events SET subject = 'SC-2' WHERE seq = 5")
    status, out, _ = command("check-records", "--json")
    answer = json.loads(out)
    assert (status, answer["intact"]) == (4, False)
    assert bool(answer["failure"]) != bool(answer["not_noted"])


def test_a_watched_file_that_is_refused_is_noted_once(opened, command, tmp_path):
    folder = tmp_path / "left here"
    folder.mkdir()
    good, bad = tmp_path / "good.csv", folder / "bad.csv"
    good.write_text("sample,description,received,volume\nX-1,solvent,2026-03-01,100 mL\n")
    bad.write_text("sample,description,received,volume\nX-2,solvent,no date,100 mL\n")
    status, said, _ = command("import", "samples", str(good), "--keep-mapping", "ours", "--json")
    assert status == 0, said
    os.utime(bad, (0, 0))  # long there, so that it is no more being written
    for _ in range(2):
        command("watch", str(folder), "--mapping", "ours", "--once", "--json")
    assert [line for line in register(opened) if "bad.csv" in line] == register(opened)
    assert len(register(opened)) == 1


def test_an_action_that_did_not_work_opens_the_failure_again(opened):
    noted = failures.note_failure(opened, "clock set back", "series checked", "time service")
    assert noted["state"] == "to be reviewed"
    again = failures.review_effect(opened, noted["id"], "it happened again", effective=False)
    assert (again["state"], again["open"]) == ("open", True)
    with pytest.raises(InputError, match="waits for a review"):
        failures.review_effect(opened, noted["id"], "seen", effective=True)
    failures.take_action(opened, noted["id"], "clock locked")
    assert failures.review_effect(opened, noted["id"], "60 days", effective=True)["state"] == (
        "closed"
    )


def test_a_formula_that_gives_another_number_is_a_finding_and_changes_nothing(
    opened, issued, monkeypatch
):
    assert recomputing.recompute(opened)["passed"]
    assert recomputing.recompute(opened)["compared"] == 0  # those were compared before
    real = results.correct

    def other(*given, **named):
        reading = real(*given, **named)
        return replace(reading, corrected_c=reading.corrected_c + 0.3)

    monkeypatch.setattr(results, "correct", other)
    for _ in range(2):
        answer = recomputing.recompute(opened, everything=True)
        assert not answer["passed"]
        assert {one["what"] for one in answer["differing"][0]["differs"]} >= {"corrected_c"}
    [finding] = register(opened)
    assert issued.id in finding
    assert opened.state.results[issued.id] == issued

    def refused(*_given, **_named):
        raise Refused("no", "This program corrects nothing.", where="x")

    monkeypatch.setattr(results, "correct", refused)
    answer = recomputing.recompute(opened, everything=True)
    assert "corrects nothing" in answer["differing"][0]["differs"][0]["now"]
