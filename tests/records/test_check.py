"""The check: every damage is found and named, everything else is read on."""

import itertools
import os
from pathlib import Path

import pytest
import tampering
from hypothesis import given, settings
from hypothesis import strategies as st
from record_entries import LESS_VOLUME, make_entry
from sqlalchemy import make_url

from closedcup.errors import ClosedcupError
from closedcup.records import Store, check, format_seal, open_store, parse_seal
from closedcup.records.chain import seal

RECORDED = "2026-03-02T08:15:07Z"
EVENTS = 12


@pytest.fixture
def filled(store, entry):
    store.append_all([entry(number) for number in range(EVENTS)], recorded_at=RECORDED)
    return store


@pytest.fixture
def file_url(tmp_path):
    """Return the address of a file with a few events, for damage below the engine."""
    url = f"sqlite:///{(tmp_path / 'records.sqlite').as_posix()}"
    with open_store(url) as store:
        store.append_all([make_entry(number) for number in range(EVENTS)], recorded_at=RECORDED)
    return url


class Pristine:
    """A whole file, its rows and its events; no dataclass, since Hypothesis would print it all."""

    def __init__(self, content: bytes, store: Store) -> None:
        self.content = content
        self.rows = list(store.stored())
        self.events = list(store.read())


@pytest.fixture(scope="module")
def pristine(tmp_path_factory):
    path = tmp_path_factory.mktemp("pristine") / "records.sqlite"
    with open_store(f"sqlite:///{path.as_posix()}") as store:
        store.append_all([make_entry(number) for number in range(EVENTS)], recorded_at=RECORDED)
        return Pristine(path.read_bytes(), store)


class Rows:
    """A store that holds the rows it is given."""

    def __init__(self, rows):
        self.rows = rows

    def stored(self, after_seq=0):
        return iter(self.rows if after_seq == 0 else [])

    def attachments(self):
        return []

    def faults(self):
        return []


def test_whole_records_are_intact(filled):
    result = check(filled)
    assert result.holds
    assert result.as_json() == {
        "events": EVENTS,
        "seal": filled.head().seal,
        "printed_seal": format_seal(filled.head()),
        "intact": True,
        "first_damaged": None,
        "seal_found": None,
        "seal_found_at": None,
        "problems": [],
        "notes": [],
    }
    assert check(Rows([])).as_json()["events"] == 0


def changed_by_one_bit(row):
    """Yield a row in every way that one bit can differ, text kept to what text can hold."""
    for field in ("key", "subject", "algorithm", "previous", "seal", "canonical"):
        value = getattr(row, field)
        stored = value if isinstance(value, bytes) else value.encode()
        for place, bit in itertools.product(range(len(stored)), range(8)):
            changed = bytearray(stored)
            changed[place] ^= 1 << bit
            if isinstance(value, bytes):
                yield row._replace(**{field: bytes(changed)})
            elif bit < 7:
                yield row._replace(**{field: changed.decode()})


@pytest.mark.parametrize("index", range(3))
def test_every_changed_bit_of_an_event_is_found(pristine, index):
    rows = pristine.rows[:3]
    tried = 0
    for changed in changed_by_one_bit(rows[index]):
        result = check(Rows([*rows[:index], changed, *rows[index + 1 :]]))
        assert {problem.seq for problem in result.problems} == {index + 1}, changed
        tried += 1
    assert tried > 3000


def test_every_flipped_byte_of_many_events_is_found(tmp_path):
    """Every byte of 200 events with CLOSEDCUP_FLIPS=200, of the first five unless set."""
    many = int(os.environ.get("CLOSEDCUP_FLIPS", "5"))
    with open_store(f"sqlite:///{(tmp_path / 'records.sqlite').as_posix()}") as store:
        news = [make_entry(number) for number in range(many)]
        store.append_all(news, recorded_at=RECORDED)
        rows = list(store.stored())
    for index, row in enumerate(rows):
        # what stands before and after is enough: each seal rests on one before
        before, after = rows[max(index - 1, 0) : index], rows[index + 1 : index + 2]
        for place, flip in itertools.product(range(len(row.canonical)), (1, 0x20, 0xFF)):
            changed = bytearray(row.canonical)
            changed[place] ^= flip
            result = check(Rows([*before, row._replace(canonical=bytes(changed)), *after]))
            found = {problem.seq for problem in result.problems}
            assert index + 1 in found, (index, place)


def test_every_cut_tail_is_found_with_a_seal(pristine):
    printed = parse_seal(format_seal(pristine.events[-1].head))
    for kept in range(EVENTS):
        result = check(Rows(pristine.rows[:kept]), printed)
        assert (result.intact, result.holds) == (True, False)


@settings(deadline=None)
@given(st.integers(0, EVENTS - 1), st.integers(-(2**40), 2**40))
def test_a_changed_number_is_found(pristine, index, number):
    rows = list(pristine.rows)
    rows[index] = rows[index]._replace(seq=number)
    result = check(Rows(rows))
    assert result.intact == (number == index + 1)
    assert result.intact or result.first_damaged <= index + 1


@settings(max_examples=200, deadline=None)
@given(data=st.data())
def test_moved_missing_and_doubled_events_are_found(pristine, data):
    order = data.draw(st.lists(st.integers(0, EVENTS - 1), max_size=EVENTS + 2))
    result = check(Rows([pristine.rows[index] for index in order]))
    assert result.intact == (order == list(range(len(order))))


@settings(max_examples=80, deadline=None)
@given(place=st.integers(0, 2**20), bits=st.integers(1, 255))
def test_a_damaged_file_is_told_or_harmless(pristine, tmp_path_factory, place, bits):
    """Whatever byte of the file is damaged: it is reported, or every event still reads the same."""
    damaged = bytearray(pristine.content)
    damaged[place % len(damaged)] ^= bits
    path = tmp_path_factory.mktemp("damaged") / "records.sqlite"
    path.write_bytes(damaged)
    try:
        with open_store(f"sqlite:///{path.as_posix()}") as store:
            if check(store).intact:
                assert list(store.read()) == pristine.events
    except ClosedcupError:
        pass


@pytest.mark.parametrize(
    ("statement", "first", "words"),
    [
        ("DELETE FROM events WHERE seq = 5", 5, "Event 5 is missing"),
        ("DELETE FROM events WHERE seq < 4", 1, "Events 1 to 3 are missing"),
        (
            f"UPDATE events SET {LESS_VOLUME} WHERE seq = 7",
            7,
            "its bytes do not give its seal",
        ),
        ("UPDATE events SET subject = 'sample/S-9' WHERE seq = 2", 2, "not that in its bytes"),
        ("UPDATE events SET seq = 900 WHERE seq = 3", 3, "Event 3 is missing"),
        ("UPDATE events SET algorithm = 'none' WHERE seq = 12", 12, "no way of sealing"),
    ],
)
def test_names_the_first_damaged_event_and_reads_on(filled, tamper, statement, first, words):
    tamper(statement)
    result = check(filled, parse_seal(format_seal(filled.head())))
    assert (result.intact, result.first_damaged) == (False, first)
    assert words in " ".join(problem.what for problem in result.problems)
    assert result.events >= EVENTS - 3


def test_a_clock_that_was_set_back_is_noted_and_no_damage(store, entry):
    for number, minute in enumerate(("15", "20", "10", "12")):
        store.append(entry(number), recorded_at=f"2026-03-02T08:{minute}:07Z")
    result = check(store)
    assert result.intact
    (note,) = result.notes
    assert note.seq == 3
    assert "recorded at 2026-03-02T08:10:07Z, event 2 at 2026-03-02T08:20:07" in note.what


def test_a_moved_event_is_told_with_its_place(pristine):
    first, second, third = pristine.rows[:3]
    (problem,) = check(Rows([first, second, first, third])).problems[:1]
    assert problem.what == "Event 1: it stands after event 2."


def test_a_damaged_event_does_not_bear_its_seal(pristine):
    rows = list(pristine.rows)
    printed = parse_seal(rows[4].seal)
    assert check(Rows(rows), printed).seal_found_at == 5
    rows[4] = rows[4]._replace(canonical=b"{}")
    assert check(Rows(rows), printed).seal_found_at is None


def test_names_an_event_that_was_changed_and_sealed_again(pristine):
    rows = list(pristine.rows)
    canonical = rows[4].canonical.replace(b"40.50", b"40.40")
    forged = seal(rows[4].previous, canonical)
    rows[4] = rows[4]._replace(canonical=canonical, seal=forged)
    assert [problem.seq for problem in check(Rows(rows)).problems] == [5]
    rows[5] = rows[5]._replace(previous=forged, seal=seal(forged, rows[5].canonical))
    assert [problem.seq for problem in check(Rows(rows)).problems] == [6]


def test_reads_on_past_a_row_that_cannot_be_read(file_url):
    """A byte that is no UTF-8 in a text column makes the engine itself fail on that row."""
    path = Path(make_url(file_url).database)
    path.write_bytes(path.read_bytes().replace(b"key-4sample", b"\xffey-4sample"))
    with open_store(file_url) as store:
        result = check(store)
    assert result.first_damaged == 5
    assert result.events == EVENTS - 1
    assert [p.seq for p in result.problems if p.seq is not None] == [5]


def test_gives_up_on_a_number_that_promises_too_much(file_url):
    last = EVENTS - 1
    tampering.change(file_url, f"UPDATE events SET seq = 1000000000000 WHERE seq = {EVENTS}")
    path = Path(make_url(file_url).database)
    unreadable = f"key-{last}sample".encode()
    path.write_bytes(path.read_bytes().replace(unreadable, b"\xff" + unreadable[1:]))
    with open_store(file_url) as store:
        result = check(store)
    assert (result.events, result.first_damaged) == (last, EVENTS)
    assert f"Nothing can be read after event {1000 + last}" in str(result.problems)


def test_a_cut_tail_is_found_with_an_earlier_seal_only(filled, tamper):
    printed = parse_seal(format_seal(filled.head()))
    middle = parse_seal(format_seal(list(filled.read())[5].head))
    assert check(filled, printed).seal_found_at == EVENTS
    tamper("DELETE FROM events WHERE seq > 9")
    assert check(filled).holds  # nothing inside the file can tell
    result = check(filled, printed)
    assert (result.intact, result.holds, result.seal_found_at) == (True, False, None)
    assert check(filled, middle).seal_found_at == 6


def test_rebuilt_records_are_found_with_an_earlier_seal(filled, tmp_path, entry):
    printed = parse_seal(format_seal(filled.head()))
    with open_store(f"sqlite:///{(tmp_path / 'rebuilt.sqlite').as_posix()}") as rebuilt:
        news = [entry(number) for number in range(EVENTS)]
        news[3] = entry(3, body={"volume_ml": "41.50"})
        rebuilt.append_all(news, recorded_at=RECORDED)
        assert check(rebuilt).holds
        assert not check(rebuilt, printed).holds


def test_the_seal_before_the_first_event_is_found(store):
    assert check(store, parse_seal(store.head().seal)).seal_found_at == 0


def test_a_damaged_document_is_found(filled, tamper):
    sha256 = filled.attach("report.pdf", b"as issued")
    tamper("UPDATE attachments SET content = convert_to('other', 'UTF8')")
    result = check(filled)
    assert (result.intact, result.first_damaged) == (False, None)
    assert result.problems[0].what.startswith(f"Document {sha256}")
    tamper("UPDATE attachments SET content = convert_to('as issued', 'UTF8')")
    assert check(filled).intact


def test_a_missing_guard_is_found(filled, url):
    of_table = "" if url.startswith("sqlite") else " ON events"
    tampering.run(url, f"DROP TRIGGER events_are_not_changed{of_table}")
    assert "the guard “events_are_not_changed” is missing" in check(filled).problems[0].what


def test_a_check_changes_nothing(file_url):
    tampering.change(file_url, "DELETE FROM events WHERE seq = 5")
    before = Path(make_url(file_url).database).read_bytes()
    with open_store(file_url) as store:
        check(store)
    assert Path(make_url(file_url).database).read_bytes() == before
