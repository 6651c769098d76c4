"""How the records are kept: backups, the rule for them, and issued numbers computed again."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BackupTaken:
    """A backup that was taken and restored once to check it; seal: of its last event."""

    file: str
    taken_at: str
    events: int
    seal: str
    sha256: str


@dataclass(frozen=True, slots=True)
class BackupRehearsed:
    """A rehearsal of restoring a backup; `problem` says why it cannot be, empty when it can."""

    file: str
    taken_at: str
    events: int
    seal: str
    whole: bool
    problem: str = ""


@dataclass(frozen=True, slots=True)
class BackupRule:
    """How old the last backup, and the last rehearsal of restoring one, may be, in days."""

    backup_days: int
    rehearsal_days: int


@dataclass(frozen=True, slots=True)
class ResultsRecomputed:
    """Issued results were computed again by a program: those up to an event, and which differ."""

    program: str
    data: str
    through_event: int
    compared: int
    differing: tuple[str, ...]
