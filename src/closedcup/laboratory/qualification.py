"""Authorisation of a person for a method: by whom, from when until when, on what grounds."""

from dataclasses import dataclass

from closedcup.methods import Method, method


@dataclass(frozen=True, slots=True)
class Qualification:
    """An authorisation of a person for a published method, with its grounds.

    granted_on, until: days, 2026-03-02, both included; evidence: in words; verifications: ids of
    verifications of an apparatus that the person made with a reference material.
    """

    id: str
    person: str
    method: str
    granted_by: str
    granted_on: str
    until: str
    evidence: str
    verifications: tuple[str, ...] = ()

    def covers(self, wanted: Method, day: str) -> bool:
        """Say whether it speaks for a method on a day: any procedure done the same way counts."""
        granted = method(self.method)
        same = (granted.designation, granted.procedure) == (wanted.designation, wanted.procedure)
        return same and self.granted_on <= day <= self.until


@dataclass(frozen=True, slots=True)
class QualificationWithdrawn:
    """An authorisation that no longer holds, and why."""

    qualification: str
    person: str
    reason: str
    withdrawn_at: str
