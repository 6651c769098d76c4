"""The history of one thing, in words, as it was known at a date."""

import json

import pytest

from closedcup.app.opening import open_laboratory
from closedcup.app.usecases.records import history


@pytest.fixture
def told(command, database):
    command("demo", "--json")

    def tell(*words: str) -> list[dict]:
        status, out, _ = command("history", *words, "--json")
        assert status == 0
        return json.loads(out)

    return tell


def test_a_sample_has_everything_from_receipt_to_report(told):
    entries = told("S-0001")
    said = [entry["what"] for entry in entries]
    assert said[0].startswith("received:")
    assert any(words.startswith("result issued: Flash point 24.0 °C") for words in said)
    assert said[-1].startswith("report issued")
    assert {entry["subject"] for entry in entries} >= {
        "S-0001",
        "S-0001-T1",
        "S-0001-T1-1",
        "R-0001",
    }
    assert not any(entry["subject"].startswith("S-0002") for entry in entries)


def test_an_apparatus_has_its_verifications_and_series(told):
    said = [entry["what"] for entry in told("SC-1")]
    assert sum(words.startswith("verified with") for words in said) == 4
    assert any(words.startswith("series begun on SC-1") for words in said)


def test_every_kind_of_event_of_the_demo_has_words_of_its_own(told, database):
    with open_laboratory(database) as opened:
        kinds = {event.type for event in opened.store.read()}
    assert kinds <= history._WORDS.keys()


def test_what_was_recorded_later_is_left_out(told, command):
    early = "2026-03-02T08:00:00+01:00"
    assert len(told("S-0001", "--known-at", early)) < len(told("S-0001"))
    status, out, _ = command("history", "R-0001", "--known-at", early, "--json")
    assert (status, json.loads(out)["error"]["kind"]) == (2, "subject-unknown")


def test_a_name_is_erased_and_what_was_done_stays(command, opened):
    assert opened.name_of("bw") == "B. Wren"
    assert command("erase-name", "bw", "--reason", " ")[0] == 2
    assert command("erase-name", "nobody", "--reason", "left")[0] == 2
    assert command("erase-name", "bw", "--reason", "left, asked for it")[0] == 0
    assert opened.name_of("bw") == "bw"
    assert "bw" in opened.state.people
    status, out, _ = command("history", "bw", "--json")
    assert (status, "B. Wren" in out) == (0, False)


def test_a_history_is_that_of_all_events_wherever_it_is_looked_for(command, database, monkeypatch):
    command("demo", "--json")
    with open_laboratory(database) as opened:
        ledger = opened.state
        report = next(iter(ledger.reports.values()))
        result = ledger.results[report.result]
        sample = ledger.tests[result.test].sample
        subjects = (sample, result.test, result.series, result.id, report.number)
        near = [history.history_of(opened, subject) for subject in subjects]
        monkeypatch.setattr(history, "_sample_of", lambda *_: None)
        assert [history.history_of(opened, subject) for subject in subjects] == near
