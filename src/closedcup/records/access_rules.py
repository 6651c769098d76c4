"""What holds for passwords and sessions: numbers with their sources, `data/access_rules.csv`."""

from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from importlib.resources import files

from closedcup.sources import load_bibliography, load_rows


@dataclass(frozen=True, slots=True)
class AccessRules:
    """Costs of the password hash, lengths of passwords, lock-out, times of a session."""

    argon2_time_cost: int
    argon2_memory_kib: int
    argon2_parallelism: int
    password_least: int
    password_most: int
    password_distinct: int
    token_bytes: int
    temporary_days: int
    failures_until_locked: int
    locked_minutes: int
    idle_minutes: int
    longest_minutes: int
    seen_every_minutes: int

    @property
    def locked(self) -> timedelta:
        """For how long an account is locked."""
        return timedelta(minutes=self.locked_minutes)

    @property
    def temporary(self) -> timedelta:
        """For how long a password given by somebody else can be used."""
        return timedelta(days=self.temporary_days)

    @property
    def idle(self) -> timedelta:
        """For how long a session may be left alone."""
        return timedelta(minutes=self.idle_minutes)

    @property
    def longest(self) -> timedelta:
        """For how long a session lasts at most."""
        return timedelta(minutes=self.longest_minutes)

    @property
    def seen_every(self) -> timedelta:
        """How often the last use of a session is written down."""
        return timedelta(minutes=self.seen_every_minutes)


@cache
def access_rules() -> AccessRules:
    """Return the rules as the table gives them."""
    return AccessRules(**{row["name"]: int(row["value"]) for row in access_rule_rows()})


@cache
def access_rule_rows() -> tuple[dict[str, str], ...]:
    """Return the table with the citation of each source in words, for whoever asks why."""
    data = files("closedcup.records") / "data"
    bibliography = load_bibliography(data / "access_sources.csv")
    rows = load_rows(data / "access_rules.csv", bibliography)
    return tuple({**row, "source": bibliography.cite(row["source"])} for row in rows)
