"""An archive opens elsewhere with every seal; one result is proved without giving the rest."""

import json
import shutil
import zipfile
from pathlib import Path

import pytest
from sqlalchemy import make_url

from closedcup.demo import run_demo
from closedcup.records import open_store


@pytest.fixture(scope="module")
def demo_file(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    run_demo(f"sqlite:///{(folder / 'lab.sqlite').as_posix()}", quiet=True)
    return folder / "lab.sqlite"


@pytest.fixture
def demo(demo_file, database):
    shutil.copy(demo_file, make_url(database).database)


@pytest.fixture
def answer(command):
    def ask(*words: str, status: int = 0) -> dict:
        given, out, err = command(*words, "--json")
        assert given == status, out + err
        return json.loads(out)

    return ask


@pytest.mark.usefixtures("demo")
def test_an_archive_opens_elsewhere_with_every_seal(answer, database, tmp_path):
    file, there = tmp_path / "all.zip", f"sqlite:///{(tmp_path / 'there.sqlite').as_posix()}"
    taken = answer("archive", str(file))
    opened = answer("open-archive", str(file), "--to", there)
    assert (opened["events"], opened["seal"]) == (taken["events"], taken["seal"])
    with open_store(database) as here, open_store(there) as other:
        assert list(here.stored()) == list(other.stored())
        assert here.attachments() == other.attachments()
        assert here.names() == other.names()
    answer("open-archive", str(file), "--to", there, status=2)  # something is there already


@pytest.mark.usefixtures("demo")
@pytest.mark.parametrize(
    ("member", "old", "new"),
    [
        ("events.jsonl", b"no flash", b"a flash "),
        ("events.jsonl", b'"seal"', b'"lies"'),
        ("manifest.json", b'"seal": "', b'"seal": "0'),
        ("documents.json", b'"', b"'"),
    ],
)
def test_an_archive_that_was_changed_is_refused(answer, tmp_path, member, old, new):
    file, changed = tmp_path / "all.zip", tmp_path / "changed.zip"
    answer("archive", str(file))
    with zipfile.ZipFile(file) as before, zipfile.ZipFile(changed, "w") as after:
        for name in before.namelist():
            content = before.read(name)
            after.writestr(name, content.replace(old, new, 1) if name == member else content)
    there = tmp_path / "there.sqlite"
    answer("open-archive", str(changed), "--to", f"sqlite:///{there.as_posix()}", status=2)
    with open_store(f"sqlite:///{there.as_posix()}") as store:
        assert store.head().seq == 0


@pytest.mark.usefixtures("demo")
def test_names_can_stay_behind(answer, tmp_path):
    file = tmp_path / "all.zip"
    assert answer("archive", str(file), "--without-names")["people"] == 0
    with zipfile.ZipFile(file) as archive:
        assert json.loads(archive.read("people.json")) == {}


@pytest.mark.usefixtures("demo")
def test_a_result_is_proved_without_the_rest(answer, command, tmp_path):
    root = answer("tree-head")["root"]
    file = tmp_path / "proof.json"
    proof = answer("prove", "R-0001", str(file))
    assert proof["root"] == root
    assert len(proof["path"]) <= 8, "a hundred events take seven hashes"
    assert answer("check-proof", str(file), "--root", root)["included"]
    for wrong in ("zz", root[:10]):
        told = answer("check-proof", str(file), "--root", wrong, status=2)["error"]
        assert told["where"] == "root"
    changed = file.read_text().replace("°C", "°F", 1)
    file.write_text(changed)
    assert not answer("check-proof", str(file), "--root", root, status=4)["included"]
    answer("prove", "R-0009", str(file), status=2)


def test_what_is_no_archive_and_no_proof_is_told(answer, tmp_path):
    file: Path = tmp_path / "file"
    for content in (b"", b"{}", b"PK\x03\x04 cut"):
        file.write_bytes(content)
        there = f"sqlite:///{(tmp_path / 'there.sqlite').as_posix()}"
        assert answer("open-archive", str(file), "--to", there, status=2)["error"]["fix"]
        assert not (tmp_path / "there.sqlite").exists()
        assert answer("check-proof", str(file), status=2)["error"]["fix"]
