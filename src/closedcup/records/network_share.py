"""Is a file on a share of another computer? SQLite's locks cannot be trusted there.

Two computers that write to one file over a network can both believe that they hold the lock, and
the file is damaged beyond repair. So such a place is refused before anything is written.
"""

import ctypes
import re
import sys
from collections.abc import Iterable
from pathlib import Path, PurePath, PureWindowsPath
from typing import Final

# File systems of Linux that reach other computers, by the names in /proc/mounts
_OF_OTHER_COMPUTERS: Final = frozenset(
    (
        *("nfs", "nfs4", "cifs", "smb3", "smbfs", "ncpfs", "afs", "coda", "ceph", "lustre"),
        *("beegfs", "gpfs", "glusterfs", "ocfs2", "gfs2", "orangefs", "pvfs2", "davfs"),
        *("fuse.sshfs", "fuse.glusterfs", "fuse.davfs2", "fuse.rclone", "fuse.s3fs"),
        *("fuse.gvfsd-fuse", "fuse.smbnetfs", "fuse.ceph", "fuse.curlftpfs"),
    )
)
_MOUNTS: Final = Path("/proc/self/mounts")
# Windows: the answer of GetDriveTypeW for a drive letter that stands for a share
_DRIVE_REMOTE: Final = 4


def network_share(path: Path) -> str | None:
    """Return how the place is reached over a network ("nfs4 on /srv/lab"), None when it is not.

    The file need not exist. On systems other than Linux and Windows the answer is always None.
    """
    if sys.platform == "win32":
        return share_of_windows(PureWindowsPath(path.absolute()))
    try:
        mounts = _MOUNTS.read_text(encoding="utf-8", errors="surrogateescape")
    except OSError:
        return None
    return share_of_mounts(path.resolve(), mounts.splitlines())


def share_of_mounts(path: PurePath, mounts: Iterable[str]) -> str | None:
    """Judge a resolved path by the lines of /proc/mounts; of two on one folder the later holds."""
    nearest, kind = PurePath("/"), ""
    for line in mounts:
        fields = line.split(" ")
        if len(fields) < 3:
            continue
        folder = PurePath(re.sub(r"\\([0-7]{3})", lambda octal: chr(int(octal[1], 8)), fields[1]))
        if path.is_relative_to(folder) and len(folder.parts) >= len(nearest.parts):
            nearest, kind = folder, fields[2]
    return f"{kind} on {nearest}" if kind in _OF_OTHER_COMPUTERS else None


def share_of_windows(path: PureWindowsPath) -> str | None:
    r"""Judge an absolute Windows path: \\server\share, or a drive letter that stands for one."""
    drive = path.drive
    if drive.lower().startswith(("\\\\?\\", "\\\\.\\")):
        drive = drive[4:]
        if drive.lower().startswith("unc\\"):
            return path.drive
    elif drive.startswith("\\\\"):
        return drive
    if _drive_type(f"{drive}\\") == _DRIVE_REMOTE:
        return f"the drive {drive}, which stands for a share"
    return None


def _drive_type(root: str) -> int:
    # only Windows has it; elsewhere the tests put something in its place
    kernel = getattr(ctypes, "windll").kernel32  # noqa: B009 - the checker runs on Linux too
    return int(kernel.GetDriveTypeW(ctypes.c_wchar_p(root)))
