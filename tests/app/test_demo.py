"""The demo: the main job on the invented laboratory, the same whenever it is run."""

import json
from pathlib import Path

import pytest

from closedcup.app.opening import open_laboratory
from closedcup.app.usecases.results import reporting


@pytest.fixture
def demo(command, database):
    def run() -> dict:
        status, out, _ = command("demo", "--json")
        assert status == 0
        return json.loads(out)

    return run


def test_running_it_again_adds_nothing(demo):
    first, again = demo(), demo()
    assert first == again
    assert Path(first["report"]).read_bytes().startswith(b"%PDF")
    assert json.loads(Path(first["record"]).read_bytes())["laboratory"]["demonstration"] is True
    assert len(first["results"]) == 3


def test_two_demos_are_the_same_to_the_byte(demo, command, tmp_path, monkeypatch):
    first = demo()
    other = tmp_path / "other" / "laboratory.sqlite"
    monkeypatch.setenv("CLOSEDCUP_DATABASE", f"sqlite:///{other.as_posix()}")
    second = demo()
    assert first["seal"] == second["seal"]
    assert Path(first["report"]).read_bytes() == Path(second["report"]).read_bytes()


def test_every_issued_document_can_be_made_again(demo, database):
    demo()
    with open_laboratory(database) as opened:
        for number in opened.state.reports:
            assert reporting.made_again(opened, number) == reporting.report_document(opened, number)


def test_an_interrupted_demo_goes_on_where_it_stood(demo, database, monkeypatch):
    from closedcup.app.usecases.bench import benching

    apply_igniter = benching.apply_igniter
    calls = iter(range(100))

    def fail_at_the_third(*args, **kwargs):
        if next(calls) == 2:
            raise KeyboardInterrupt
        return apply_igniter(*args, **kwargs)

    monkeypatch.setattr(benching, "apply_igniter", fail_at_the_third)
    from closedcup.app.entry import run

    assert run(["demo", "--json"]) == 130
    monkeypatch.setattr(benching, "apply_igniter", apply_igniter)
    seal = demo()["seal"]
    monkeypatch.setenv("CLOSEDCUP_DATABASE", database.replace("laboratory", "whole"))
    assert demo()["seal"] == seal


def test_real_records_are_not_touched(opened, command):
    opened.close()
    status, out, _ = command("demo", "--json")
    assert (status, json.loads(out)["error"]["kind"]) == (3, "real-records")


def test_check_records_finds_the_seal_of_a_report(demo, command):
    demo()
    _, out, _ = command("check-records", "--json")
    whole = json.loads(out)
    assert {"events", "seal", "intact", "first_damaged"} <= whole.keys()
    assert command("check-records", "--seal", whole["printed_seal"], "--json")[0] == 0
    assert command("check-records", "--seal", "7-" + "0" * 20, "--json")[0] == 4


def test_damage_is_told_with_4(demo, command, database):
    import sqlite3

    demo()
    file = sqlite3.connect(database.removeprefix("sqlite:///"))
    for (trigger,) in file.execute(
        "select name from sqlite_master where type='trigger'"
    ).fetchall():
        file.execute(f'drop trigger "{trigger}"')
    file.execute(
        "update events set canonical = cast(replace(cast(canonical as text), '\"at\"', '\"bw\"') "
        "as blob) where seq = 31"
    )
    file.commit()
    file.close()
    status, out, _ = command("check-records", "--json")
    assert (status, json.loads(out)["first_damaged"]) == (4, 31)
