"""Backups: whole, checked by restoring, taken while others record, never half there."""

import json
import shutil
import threading
import time
from pathlib import Path

import pytest
from record_entries import make_entry

from closedcup.errors import Conflict, Damaged, InputError
from closedcup.records import backups, check, digest, open_store
from closedcup.records.backups import back_up, read_manifest, rehearse, remove_oldest, restore

RECORDED = "2026-03-02T08:15:07Z"
EVENTS = 30


@pytest.fixture
def filled(store):
    store.attach("report.pdf", b"%PDF as issued")
    store.set_name("p-1", "A. Example")
    store.append_all([make_entry(number) for number in range(EVENTS)], recorded_at=RECORDED)
    return store


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "backups"


def take(store, folder, taken_at=RECORDED):
    return back_up(store, folder, taken_at=taken_at, program="0.1.0")


def test_a_backup_is_restored_equal_on_either_engine(filled, folder, new_url, tmp_path):
    file = take(filled, folder)
    assert file.name == f"closedcup-20260302T081507Z-{EVENTS}.sqlite"
    assert sorted(path.name for path in folder.iterdir()) == [
        file.with_suffix(".json").name,
        file.name,
    ]
    manifest = read_manifest(file)
    assert manifest.head == filled.head()
    assert manifest.sha256 == digest(file.read_bytes())
    assert (manifest.events, manifest.documents, manifest.people) == (EVENTS, 1, 1)
    assert rehearse(file) == manifest
    before = file.read_bytes()
    for url in (new_url(), f"sqlite:///{(tmp_path / 'again.sqlite').as_posix()}"):
        assert restore(file, url) == manifest
        with open_store(url) as restored:
            assert list(restored.stored()) == list(filled.stored())
            assert restored.names() == filled.names()
            assert [restored.attachment(each) for each in restored.attachments()] == [
                filled.attachment(each) for each in filled.attachments()
            ]
    assert file.read_bytes() == before


def test_restoring_never_writes_over_records(filled, url, folder):
    file = take(filled, folder)
    with pytest.raises(Conflict, match="recorded here already"):
        restore(file, url)
    assert filled.head().seq == EVENTS


def test_a_backup_of_a_running_laboratory_is_whole(filled, url, folder):
    stop, recorded = threading.Event(), []

    def work():
        with open_store(url) as client:
            number = EVENTS
            while not stop.is_set():
                recorded.append(client.append(make_entry(number), recorded_at=RECORDED))
                number += 1
                time.sleep(0.005)

    worker = threading.Thread(target=work)
    worker.start()
    try:
        files = [take(filled, folder, f"2026-03-02T08:15:{second:02}Z") for second in range(3)]
    finally:
        stop.set()
        worker.join()
    assert recorded
    heads = {event.seq: event.head for event in filled.read()}
    for file in files:
        manifest = rehearse(file)
        assert manifest.head == heads[manifest.events]
    assert check(filled).intact


def damaged_byte(file: Path) -> None:
    content = bytearray(file.read_bytes())
    content[len(content) // 2] ^= 1
    file.write_bytes(content)


def another_manifest(file: Path, **changes: object) -> None:
    manifest = backups.manifest_path(file)
    manifest.write_text(json.dumps({**json.loads(manifest.read_text()), **changes}))


@pytest.mark.parametrize(
    ("spoil", "kind"),
    [
        (damaged_byte, "backup-damaged"),
        (lambda file: file.write_bytes(file.read_bytes()[:-4096]), "backup-damaged"),
        (lambda file: file.write_bytes(b""), "backup-damaged"),
        (lambda file: another_manifest(file, seal="0" * 64), "backup-damaged"),
        (lambda file: another_manifest(file, events=EVENTS - 1), "backup-damaged"),
        (lambda file: another_manifest(file, documents=0), "backup-damaged"),
        (lambda file: another_manifest(file, format="other"), "manifest-unreadable"),
        (lambda file: backups.manifest_path(file).write_text("[]"), "manifest-unreadable"),
        (lambda file: backups.manifest_path(file).write_bytes(b"\xff"), "manifest-unreadable"),
        (lambda file: backups.manifest_path(file).unlink(), "backup-unfinished"),
        (lambda file: file.unlink(), "backup-missing"),
    ],
)
def test_a_spoilt_backup_is_told(tmp_path, folder, spoil, kind):
    with open_store(f"sqlite:///{(tmp_path / 'records.sqlite').as_posix()}") as store:
        store.attach("report.pdf", b"as issued")
        store.append_all([make_entry(number) for number in range(EVENTS)], recorded_at=RECORDED)
        file = take(store, folder)
    spoil(file)
    with pytest.raises((Damaged, InputError)) as told:
        rehearse(file)
    assert told.value.kind == kind


def test_damaged_records_are_not_backed_up(filled, folder, tamper):
    tamper("DELETE FROM events WHERE seq = 5")
    with pytest.raises(Damaged):
        take(filled, folder)
    assert not folder.exists() or list(folder.iterdir()) == []


def test_a_backup_that_cannot_be_restored_is_not_kept(filled, folder, monkeypatch):
    """Simulated: a disk that gives back other bytes than were written."""
    copy = backups._copy

    def lie(source, target):
        if source.parent == folder:
            damaged_byte(source)
        return copy(source, target)

    monkeypatch.setattr(backups, "_copy", lie)
    with pytest.raises(Damaged, match="not those that were written"):
        take(filled, folder)
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize("after", range(6))
def test_a_full_disk_leaves_no_half_backup(filled, folder, monkeypatch, after):
    """Simulated: the disk is full at the first, second, … sync."""
    synced = []

    def fail(_handle):
        synced.append(1)
        if len(synced) > after:
            raise OSError(28, "No space left on device", str(folder))

    monkeypatch.setattr(backups.os, "fsync", fail)
    with pytest.raises(InputError, match="No space left"):
        take(filled, folder)
    assert list(folder.iterdir()) == []
    monkeypatch.undo()
    take(filled, folder, "2026-03-02T08:16:00Z")


def test_a_backup_is_never_written_over(filled, folder):
    file = take(filled, folder)
    before = file.read_bytes()
    with pytest.raises(InputError, match="of this second"):
        take(filled, folder)
    assert file.read_bytes() == before


def test_a_folder_that_cannot_be_used_is_told(filled, tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(InputError) as told:
        take(filled, tmp_path / "file")
    assert told.value.kind == "folder-unusable"


def test_only_the_oldest_finished_backups_are_removed(tmp_path, folder):
    with open_store(f"sqlite:///{(tmp_path / 'records.sqlite').as_posix()}") as store:
        files = [take(store, folder, f"2026-03-0{day}T08:15:07Z") for day in range(1, 5)]
    unfinished = folder / "closedcup-20250101T000000Z-7.sqlite"
    shutil.copy(files[0], unfinished)
    (folder / "notes.txt").touch()
    assert remove_oldest(folder, 2) == [files[0].name, files[1].name]
    assert {path.suffix for path in folder.iterdir()} == {".sqlite", ".json", ".txt"}
    assert unfinished.exists()
    assert [rehearse(file).events for file in files[2:]] == [0, 0]
    assert remove_oldest(folder, 0) == [files[2].name]
