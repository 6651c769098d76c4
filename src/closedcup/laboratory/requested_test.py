"""What was asked of a sample: a finite flash point, or whether it flashes at a limit."""

from dataclasses import dataclass
from typing import Literal

from closedcup.quantities import Limit

TestKind = Literal["finite", "limit"]


@dataclass(frozen=True, slots=True)
class RequestedTest:
    """A test requested on a sample, agreed before it is begun.

    `limit` is there for a test at a limit, and may be there for a finite one when conformity
    is to be stated, with a `second_limit` on the other side where two are asked. `decision_rule`
    is "simple", "guarded", "guarded 5 %" or "recipient"; a `safety_limit` is given no tolerance.
    `step_c` is the final step of a finite determination.
    """

    id: str
    sample: str
    method: str
    kind: TestKind
    step_c: float = 1.0
    limit: Limit | None = None
    decision_rule: str = ""
    second_limit: Limit | None = None
    safety_limit: bool = False

    @property
    def limits(self) -> tuple[Limit, ...]:
        """The limits that there are."""
        return tuple(limit for limit in (self.limit, self.second_limit) if limit is not None)

    @property
    def limits_text(self) -> str:
        """The limits in words; empty without one."""
        return " and ".join(str(limit) for limit in self.limits)
