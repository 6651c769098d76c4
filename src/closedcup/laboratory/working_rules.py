"""What a laboratory asks of its own people beyond what the methods ask."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WorkingRules:
    """Rules decided by the laboratory; a new one has none.

    four_eyes: nobody reviews, releases or reports what the same person performed;
    authorisation: nobody works by a method without a qualification for it on record.
    """

    four_eyes: bool = False
    authorisation: bool = False
