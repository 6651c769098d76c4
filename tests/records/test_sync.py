"""Synced before it is acknowledged: shown by the system calls of a real writer."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

WRITER = Path(__file__).with_name("writer.py")
CALLS = "pwrite64,write,fsync,fdatasync,unlink"
ENTRIES = 20


def traced_calls(tmp_path: Path) -> list[str]:
    strace = shutil.which("strace")
    if strace is None:
        pytest.skip("no strace here (on Debian: apt install strace)")
    log = tmp_path / "calls"
    url = f"sqlite:///{(tmp_path / 'records.sqlite').as_posix()}"
    # one line per call in the order in which they ended; -y names the files
    command = [strace, "-f", "-y", "-o", str(log), "-e", f"trace={CALLS}"]
    writer = [sys.executable, str(WRITER), url, "entry", str(ENTRIES)]
    done = subprocess.run([*command, *writer], capture_output=True, text=True, check=False)
    if "ptrace" in done.stderr and done.returncode != 0:
        pytest.skip(f"strace may not trace here: {done.stderr.strip().splitlines()[0]}")
    assert done.returncode == 0, done.stderr
    return log.read_text().splitlines()


def test_each_entry_is_synced_before_it_is_acknowledged(tmp_path):
    """Between two acknowledgements the file is written, and synced after its last write."""
    unsynced, folder_unsynced, written, acknowledged = set(), False, 0, []
    for line in traced_calls(tmp_path):
        call = re.match(r'\d+ +(\w+)\((?:\d+<([^>]*)>|"([^"]*)")', line)
        if call is None:
            continue
        name, file = call[1], call[2] or call[3]
        if name == "write" and (answer := re.search(r'"(entry-\d+)\\n"', line)):
            assert written > 0, f"{answer[1]} was acknowledged before anything was written"
            assert (unsynced, folder_unsynced) == (set(), False), answer[1]
            acknowledged.append(answer[1])
            written = 0
        elif "records.sqlite" not in file and file != str(tmp_path):
            continue
        elif name == "pwrite64":
            unsynced.add(file)
            written += 1
        elif name == "unlink":
            # the journal is gone: that is the commit, and the folder must know it
            unsynced.discard(file)
            folder_unsynced = True
        elif file == str(tmp_path):
            folder_unsynced = False
        else:
            unsynced.discard(file)
    assert acknowledged == [f"entry-{number}" for number in range(ENTRIES)]
