"""Common practice beside the statistics: what confirms a cause, and the table of symptoms."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from closedcup.metrology.tables import bibliography
from closedcup.sources import Known, load_rows, parse_known


@dataclass(frozen=True, slots=True)
class ConfirmingTest:
    """What to do to confirm a cause, how it is told, and the caution that goes with it."""

    cause: str
    test: str
    confirmed_when: str
    minutes: int
    caution: str
    source: str
    known: Known


@dataclass(frozen=True, slots=True)
class Symptom:
    """What is seen at the bench, what it usually comes from, what to do first."""

    symptom: str
    likely_cause: str
    first_action: str
    source: str
    known: Known


def cheapest_test(causes: Iterable[str]) -> ConfirmingTest:
    """Return the test that takes the least time of those that confirm one of the causes."""
    wanted = set(causes)
    return min(
        (each for each in confirming_tests() if each.cause in wanted), key=lambda one: one.minutes
    )


@cache
def confirming_tests() -> tuple[ConfirmingTest, ...]:
    """Return every test on file, by cause."""
    return tuple(
        ConfirmingTest(
            cause=row["cause"],
            test=row["test"],
            confirmed_when=row["confirmed_when"],
            minutes=int(row["minutes"]),
            caution=row["caution"],
            source=bibliography().cite(row["source"]),
            known=parse_known(row["known"], where="confirming_tests.csv"),
        )
        for row in _rows("confirming_tests.csv")
    )


@cache
def symptoms() -> tuple[Symptom, ...]:
    """Return the table of symptoms."""
    return tuple(
        Symptom(
            symptom=row["symptom"],
            likely_cause=row["likely_cause"],
            first_action=row["first_action"],
            source=bibliography().cite(row["source"]),
            known=parse_known(row["known"], where="symptoms.csv"),
        )
        for row in _rows("symptoms.csv")
    )


def _rows(name: str) -> list[dict[str, str]]:
    return load_rows(files("closedcup.metrology.diagnosis") / "data" / name, bibliography())
