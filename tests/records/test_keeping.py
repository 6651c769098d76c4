"""The commands move, backup and restore, on a laboratory in either engine."""

import json
from pathlib import Path

import pytest
from record_entries import make_entry

from closedcup.app.entry import run
from closedcup.app.opening import open_laboratory
from closedcup.app.usecases.records import keeping
from closedcup.demo import run_demo
from closedcup.records import check, open_store

RECORDED = "2026-03-02T08:15:07Z"
EVENTS = 20


@pytest.fixture
def command(url, monkeypatch, capsys):
    """Fill the records that CLOSEDCUP_DATABASE names; return a function that runs a command."""
    monkeypatch.setenv("CLOSEDCUP_DATABASE", url)
    with open_store(url) as store:
        store.set_name("p-1", "A. Example")
        store.append_all([make_entry(number) for number in range(EVENTS)], recorded_at=RECORDED)
    capsys.readouterr()

    def call(*words):
        status = run(list(words))
        out, err = capsys.readouterr()
        return status, (json.loads(out) if "--json" in words else out), err

    return call


@pytest.fixture
def there(tmp_path):
    return f"sqlite:///{(tmp_path / 'there.sqlite').as_posix()}"


def test_move_proves_equality_and_is_refused_a_second_time(command, url, there):
    status, answer, err = command("move", there, "--json")
    assert (status, err) == (0, "")
    assert (answer["events"], answer["people"], answer["equal"]) == (EVENTS, 1, True)
    with open_store(url) as source, open_store(there) as target:
        assert answer["seal"] == source.head().seal == target.head().seal
    status, answer, _ = command("move", there, "--json")
    assert (status, answer["error"]["kind"]) == (2, "not-empty")
    status, answer, _ = command("move", url, "--json")
    assert (status, answer["error"]["kind"]) == (2, "not-empty")


def test_move_into_a_server(command, new_database):
    status, said, _ = command("move", new_database())
    assert status == 0
    assert "proved equal" in said
    assert "Record nothing more at the old place" in said


def test_backup_rehearse_restore(command, tmp_path, there):
    folder = tmp_path / "backups"
    status, taken, err = command("backup", str(folder), "--json")
    assert (status, err, taken["restored_to_check"]) == (0, "", True)
    status, rehearsed, _ = command("restore", taken["file"], "--json")
    assert (status, rehearsed["whole"], rehearsed["restored_to"]) == (0, True, None)
    assert rehearsed["seal"] == taken["seal"]
    status, said, _ = command("restore", taken["file"], "--to", there)
    assert status == 0
    assert "Erase again the names" in said
    with open_store(there) as restored:
        assert (restored.head().seq, restored.head().seal) == (taken["events"], taken["seal"])


def test_a_spoilt_backup_is_an_answer_of_a_check(command, tmp_path, there):
    _, taken, _ = command("backup", str(tmp_path / "backups"), "--json")
    with Path(taken["file"]).open("ab") as file:
        file.write(b"x")
    status, answer, _ = command("restore", taken["file"], "--json")
    assert (status, answer["whole"]) == (4, False)
    assert answer["problem"]["kind"] == "backup-damaged"
    status, said, _ = command("restore", taken["file"])
    assert (status, "CANNOT be restored" in said) == (4, True)
    status, answer, _ = command("restore", taken["file"], "--to", there, "--json")
    assert (status, answer["error"]["kind"]) == (2, "backup-damaged")
    assert not (tmp_path / "there.sqlite").exists()


def test_keep_is_at_least_one(command, tmp_path):
    status, answer, _ = command("backup", str(tmp_path), "--keep", "0", "--json")
    assert (status, answer["error"]["where"]) == (2, "keep")


def test_the_main_job_runs_on_a_server_and_moves_to_a_file(
    new_database, there, tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)  # without a file of records the reports go where one stands
    url = new_database()
    run_demo(url, quiet=True)
    with open_laboratory(url) as laboratory:
        keeping.move(laboratory, there)
        before = laboratory.state
    with open_laboratory(there) as moved:
        assert moved.state == before
        assert moved.state.reports
        assert check(moved.store).holds
