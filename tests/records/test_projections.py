"""Projections hold nothing of their own: whatever they know or lack, the state is one."""

from pathlib import Path

import pytest

from closedcup.demo import run_demo
from closedcup.errors import InputError
from closedcup.records import NewEvent, Store, following, open_store
from closedcup.records.copying import copy_records
from closedcup.records.folding import fold
from closedcup.records.following import Following, make_again
from closedcup.records.ledger import Ledger
from closedcup.records.projections import Projections, SampleQuery
from closedcup.records.tables import projected, sample_rows


@pytest.fixture(scope="module")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return the address of the made-up laboratory's records."""
    folder: Path = tmp_path_factory.mktemp("demo")
    url = f"sqlite:///{(folder / 'lab.sqlite').as_posix()}"
    run_demo(url, quiet=True)
    return url


@pytest.fixture
def laboratory(demo_file: str, store: Store) -> Store:
    """Return records with the made-up laboratory's events, on either engine."""
    with open_store(demo_file) as made:
        copy_records(made, store)
    return store


@pytest.fixture
def eager(monkeypatch: pytest.MonkeyPatch) -> None:
    """Bring the projections up to date after every few events."""
    monkeypatch.setattr(following, "_BATCH", 7)
    monkeypatch.setattr(following, "_LAG", 1)


def whole(store: Store) -> Ledger:
    """Return the fold of all events, without any projection."""
    return fold(store.read())


def lines(follower: Following, **wanted: object) -> list[tuple[str, str]]:
    return [(row.sample, row.state) for row in follower.cases.rows(SampleQuery(**wanted))]


def test_in_memory_only_the_state_is_the_fold_of_all_events(laboratory):
    assert Following(laboratory).ledger() == whole(laboratory)
    assert laboratory.projections.reach() == 0


@pytest.mark.usefixtures("eager")
def test_projected_step_by_step_the_state_is_the_fold_of_all_events(laboratory):
    first = Following(laboratory)
    assert first.ledger() == whole(laboratory)
    assert laboratory.projections.reach() == laboratory.head().seq
    second = Following(laboratory)
    assert second.ledger() == whole(laboratory)
    assert lines(second) == lines(first)
    laboratory.projections.drop()
    assert laboratory.projections.reach() == 0
    again = Following(laboratory)
    assert again.ledger() == whole(laboratory)
    assert lines(again) == lines(first)


def test_projections_that_lag_behind_are_completed_in_memory(laboratory, eager, monkeypatch):
    expected = whole(laboratory)
    events = list(laboratory.read())
    half = Following(laboratory)
    monkeypatch.setattr(type(laboratory), "read", lambda _, after=0: iter(events[after:60]))
    half.ledger()
    monkeypatch.undo()
    assert laboratory.projections.reach() == 60
    assert Following(laboratory).ledger() == expected


@pytest.mark.usefixtures("eager")
def test_a_follower_sees_what_another_records_and_projects(laboratory):
    mine, other = Following(laboratory), Following(laboratory)
    mine.ledger()
    sample = next(iter(whole(laboratory).samples))
    evidence = {"name": "boiling_c", "value": "81", "method": "D86", "determined_on": "2026-03-02"}
    laboratory.append(
        NewEvent(
            key="more",
            type="evidence-recorded",
            subject=sample,
            observed_at="2026-03-09T09:15:00+01:00",
            by="p-1",
            program="0.1.0",
            data="2026-03",
            body=evidence,
        ),
        recorded_at="2026-03-09T08:15:00Z",
    )
    other.ledger()
    assert laboratory.projections.reach() == laboratory.head().seq
    assert mine.ledger() == whole(laboratory)
    assert mine.ledger().evidence[sample][-1].value == "81"


@pytest.mark.parametrize("spoilt", [False, True])
def test_an_index_that_is_not_what_the_events_say_is_told_and_mended(laboratory, spoilt):
    assert make_again(laboratory)
    if spoilt:
        with laboratory.writing() as connection:
            connection.execute(sample_rows.update().values(state="reported"))
    assert make_again(laboratory) is not spoilt
    assert Following(laboratory).ledger() == whole(laboratory)


@pytest.mark.usefixtures("eager")
def test_what_another_version_projected_is_made_again(laboratory):
    Following(laboratory).ledger()
    with laboratory.writing() as connection:
        connection.execute(projected.update().values(version=99))
    assert laboratory.projections.reach() == 0
    assert Following(laboratory).ledger() == whole(laboratory)
    assert laboratory.projections.reach() == laboratory.head().seq


@pytest.mark.usefixtures("eager")
def test_samples_are_found_by_words_state_and_place(laboratory):
    for follower in (Following(laboratory), Following(laboratory)):
        ledger = follower.ledger()
        newest_first = [sample for sample, _ in lines(follower)]
        assert newest_first == list(reversed(ledger.samples))
        assert lines(follower, limit=1)[0][0] == newest_first[0]
        assert [name for name, _ in lines(follower, before=newest_first[0])] == newest_first[1:]
        some = ledger.samples[newest_first[0]]
        words = tuple(some.description.casefold().split())
        assert some.id in dict(lines(follower, words=words))
        assert not lines(follower, words=(*words, "%"))
        states = {state for _, state in lines(follower)}
        for state in states:
            assert {found for _, found in lines(follower, states=(state,))} == {state}


@pytest.mark.usefixtures("eager")
def test_where_they_cannot_be_written_the_state_is_the_same(laboratory, monkeypatch):
    def full(*_: object, **__: object) -> None:
        raise InputError("disk-full", "The disk is full.")

    monkeypatch.setattr(Projections, "extend", full)
    follower = Following(laboratory)
    assert follower.ledger() == whole(laboratory)
    assert laboratory.projections.reach() == 0
    assert [name for name, _ in lines(follower)] == list(reversed(whole(laboratory).samples))
