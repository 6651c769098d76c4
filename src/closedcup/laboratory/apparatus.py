"""An apparatus, how it was put into service, and whether results made on it may be released."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from closedcup.laboratory.reference_material import Verification


@dataclass(frozen=True, slots=True)
class Apparatus:
    """A flash point apparatus as registered.

    `methods` are the identifiers of the methods that it can run; the two cup temperatures bound
    what it can reach; `igniter` is "gas" or "electric".
    """

    id: str
    description: str
    serial: str
    location: str
    methods: tuple[str, ...]
    lowest_cup_c: Decimal
    highest_cup_c: Decimal
    igniter: str
    has_detector: bool = False
    firmware: str = ""


@dataclass(frozen=True, slots=True)
class ServiceAnswer:
    """One answered item of the put-into-service checklist."""

    item: str
    done: bool
    finding: str = ""


@dataclass(frozen=True, slots=True)
class ServiceRecord:
    """The checklist as answered; the version tells which questions were asked."""

    apparatus: str
    checklist: str
    version: int
    answers: tuple[ServiceAnswer, ...]


@dataclass(frozen=True, slots=True)
class ProbeCheck:
    """The temperature probe's correction, to be added to a reading; None when none is on record.

    readings_c and corrections_c are the points of its calibration, where they are on record: from
    them follows how uncertain the correction is at a reading.
    """

    apparatus: str
    correction_c: Decimal | None
    certificate: str
    checked_on: str
    readings_c: tuple[Decimal, ...] = ()
    corrections_c: tuple[Decimal, ...] = ()


class ApparatusState(StrEnum):
    """Whether results made on an apparatus may be released."""

    REGISTERED = "not yet in service"
    UNVERIFIED = "in service, not verified"
    IN_CONTROL = "in control"
    OUT_OF_CONTROL = "out of control"


def state_of(
    service: ServiceRecord | None, verifications: tuple[Verification, ...]
) -> ApparatusState:
    """Return an apparatus's state from its service record and its verifications in order."""
    if service is None:
        return ApparatusState.REGISTERED
    if not verifications:
        return ApparatusState.UNVERIFIED
    last = verifications[-1]
    return ApparatusState.IN_CONTROL if last.in_control else ApparatusState.OUT_OF_CONTROL
