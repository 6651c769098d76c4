"""A share of another computer is refused as the place of a file."""

import ctypes
from pathlib import Path, PurePosixPath, PureWindowsPath
from types import SimpleNamespace

import pytest

from closedcup.errors import InputError
from closedcup.records import network_share, open_store

MOUNTS = r"""
proc /proc proc rw 0 0
/dev/sda1 / ext4 rw 0 0
server:/export /srv/lab nfs4 rw,vers=4.2 0 0
//server/share /home/ann/our\040share cifs rw 0 0
/dev/sdb1 /srv/lab/local ext4 rw 0 0
server:/old /data nfs rw 0 0
/dev/sdc1 /data xfs rw 0 0
ann@server: /home/ann/far fuse.sshfs rw 0 0
"""


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("/home/ann/records.sqlite", None),
        ("/srv/lab/records.sqlite", "nfs4 on /srv/lab"),
        ("/srv/laboratory/records.sqlite", None),
        ("/srv/lab/local/records.sqlite", None),
        ("/home/ann/our share/a/records.sqlite", "cifs on /home/ann/our share"),
        ("/home/ann/far/records.sqlite", "fuse.sshfs on /home/ann/far"),
        ("/data/records.sqlite", None),  # mounted over
    ],
)
def test_linux(path, expected):
    assert network_share.share_of_mounts(PurePosixPath(path), MOUNTS.splitlines()) == expected


@pytest.mark.parametrize(
    ("path", "is_share"),
    [
        (r"C:\laboratory\records.sqlite", False),
        (r"L:\records.sqlite", True),
        (r"\\server\share\records.sqlite", True),
        ("//server/share/records.sqlite", True),
        (r"\\?\UNC\server\share\records.sqlite", True),
        (r"\\?\C:\records.sqlite", False),
        (r"\\?\L:\records.sqlite", True),
    ],
)
def test_windows(monkeypatch, path, is_share):
    """Simulated: of the drives, L: stands for a share."""

    def get_drive_type(root):
        return 4 if root.value == "L:\\" else 3

    kernel = SimpleNamespace(GetDriveTypeW=get_drive_type)
    monkeypatch.setattr(ctypes, "windll", SimpleNamespace(kernel32=kernel), raising=False)
    found = network_share.share_of_windows(PureWindowsPath(path))
    assert (found is not None) == is_share


def test_records_on_a_share_are_refused_before_anything_is_written(tmp_path, monkeypatch):
    mounts = tmp_path / "mounts"
    mounts.write_text(f"/dev/sda1 / ext4 rw 0 0\nserver:/x {tmp_path} nfs4 rw 0 0\n")
    monkeypatch.setattr(network_share, "_MOUNTS", mounts)
    folder = tmp_path / "laboratory"
    with pytest.raises(InputError, match="nfs4 on") as refusal:
        open_store(f"sqlite:///{(folder / 'records.sqlite').as_posix()}")
    assert refusal.value.kind == "network-share"
    assert "postgresql" in refusal.value.fix
    assert not folder.exists()


def test_a_link_to_a_share_is_followed(tmp_path, monkeypatch):
    share = tmp_path / "share"
    share.mkdir()
    mounts = tmp_path / "mounts"
    mounts.write_text(f"/dev/sda1 / ext4 rw 0 0\nserver:/x {share} nfs4 rw 0 0\n")
    monkeypatch.setattr(network_share, "_MOUNTS", mounts)
    (tmp_path / "near").symlink_to(share)
    assert network_share.network_share(tmp_path / "near" / "a.sqlite") == f"nfs4 on {share}"
    assert network_share.network_share(tmp_path / "a.sqlite") is None


def test_without_a_list_of_mounts_nothing_is_refused(monkeypatch):
    monkeypatch.setattr(network_share, "_MOUNTS", Path("/nowhere/mounts"))
    assert network_share.network_share(Path("/srv/lab/records.sqlite")) is None
