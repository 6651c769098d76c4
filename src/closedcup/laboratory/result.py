"""A result, with every number of its chain as issued, and when it may be released."""

from dataclasses import dataclass
from decimal import Decimal

from closedcup.laboratory.apparatus import ApparatusState


@dataclass(frozen=True, slots=True)
class Result:
    """What a series of determinations supports.

    `kind` is that of the outcome: "flash point"; "flash" or "no flash" at a limit; or one without
    a value ("approximate flash point", "no flash up to", "flash at or below", "stopped"). The
    numbers are those computed on the day of issue.
    """

    id: str
    test: str
    series: str
    kind: str
    statement: str
    observed_cup_c: Decimal | None
    probe_correction_c: float | None
    pressure_kpa: float
    pressure_correction_c: float | None
    corrected_c: float | None
    reported_c: float | None
    reported_text: str
    low_corrected_c: float | None
    high_corrected_c: float | None
    repeatability_c: float | None
    reproducibility_c: float | None
    precision_note: str
    apparatus_state: str
    verification: str
    deviations: tuple[str, ...]
    warnings: tuple[str, ...]
    steps: tuple[str, ...]
    supersedes: str = ""
    """The result that this one takes the place of, if any."""
    together: tuple[str, ...] = ()
    """The series whose determinations make the result together, where there are several."""


def reasons_to_hold(
    result: Result, state: ApparatusState, doubts: tuple[str, ...] = ()
) -> tuple[str, ...]:
    """Say why a result may not be released now; nothing said means that it may.

    `doubts` are what speaks against it besides its apparatus's state: holds, a dispute. A
    deviation does not hold a result: it is stated on the report.
    """
    reasons = list(doubts)
    match state:
        case ApparatusState.IN_CONTROL:
            pass
        case ApparatusState.REGISTERED:
            reasons.append("The apparatus has not been put into service.")
        case ApparatusState.UNVERIFIED:
            reasons.append(
                "The apparatus has not been verified with a reference material for this method."
            )
        case ApparatusState.OUT_OF_CONTROL:
            reasons.append("The apparatus's last verification is out of control.")
    if result.kind == "stopped":
        reasons.append("The series was stopped; it supports no flash point.")
    return tuple(reasons)
