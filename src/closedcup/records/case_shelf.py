"""A shelf of the ledger over all samples: it looks into a case only when that one is asked for."""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, Final

from closedcup.records.belonging import Noun

if TYPE_CHECKING:
    from closedcup.records.cases import Cases

# The shelves that hold what belongs to one sample, and what each is keyed by
CASE_SHELVES: Final[Mapping[str, Noun]] = {
    "samples": "sample",
    "evidence": "sample",
    "chilling": "sample",
    "keeping": "sample",
    "tests": "test",
    "plans": "test",
    "reviews": "test",
    "series": "series",
    "confirmed_at_begin": "series",
    "results": "result",
    "issued_at": "result",
    "releases": "result",
    "signatures": "result",
    "classified": "result",
    "files": "result",
    "superseded": "result",
    "stands": "result",
    "reports": "report",
    "outside_results": "outside result",
}
# Those that have an entry for each thing of their kind
_COMPLETE: Final = frozenset(
    {"samples", "tests", "series", "results", "reports", "outside_results"}
)


class CaseShelf(Mapping[str, Any]):
    """One shelf over all cases, in the order in which the samples, tests, … came."""

    def __init__(self, cases: "Cases", name: str) -> None:
        self._cases = cases
        self._name = name
        self._noun = CASE_SHELVES[name]

    def __getitem__(self, identifier: str) -> Any:
        if self._cases.subject(self._noun, identifier) is None:
            raise KeyError(identifier)
        return getattr(self._cases.holding(self._noun, identifier), self._name)[identifier]

    def __contains__(self, identifier: object) -> bool:
        if self._name in _COMPLETE:
            return self._cases.subject(self._noun, str(identifier)) is not None
        return super().__contains__(identifier)

    def __iter__(self) -> Iterator[str]:
        for identifier in self._cases.ids(self._noun):
            if self._name in _COMPLETE or identifier in self:
                yield identifier

    def __reversed__(self) -> Iterator[str]:
        return reversed(list(self))

    def __len__(self) -> int:
        if self._name in _COMPLETE:
            return self._cases.count(self._noun)
        return sum(1 for _ in self)
