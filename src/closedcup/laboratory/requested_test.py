"""What was asked of a sample: a finite flash point, or whether it flashes at a limit."""

from dataclasses import dataclass
from typing import Literal

from closedcup.quantities import Limit

TestKind = Literal["finite", "limit"]


@dataclass(frozen=True, slots=True)
class RequestedTest:
    """A test requested on a sample, agreed before it is begun.

    `limit` is there for a test at a limit, and may be there for a finite one when conformity
    is to be stated; `decision_rule` is "simple" or "guarded". `step_c` is the final step of a
    finite determination.
    """

    id: str
    sample: str
    method: str
    kind: TestKind
    step_c: float = 1.0
    limit: Limit | None = None
    decision_rule: str = ""
