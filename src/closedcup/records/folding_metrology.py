"""How each kind of event about reference materials, rounds and uncertainties changes the ledger."""

from collections.abc import Callable
from typing import Final

from closedcup.laboratory.proficiency import ProficiencyResult
from closedcup.laboratory.reference_material import MaterialOpened
from closedcup.laboratory.stated_uncertainty import StatedUncertainty
from closedcup.laboratory.verification_interval import VerificationInterval
from closedcup.records.encoding import from_body
from closedcup.records.events import Event
from closedcup.records.ledger import Ledger


def _open_material(ledger: Ledger, event: Event) -> None:
    ledger.opened_materials[event.subject] = from_body(MaterialOpened, event.body)


def _decide_interval(ledger: Ledger, event: Event) -> None:
    decided = from_body(VerificationInterval, event.body)
    earlier = ledger.intervals.get(decided.apparatus, ())
    ledger.intervals[decided.apparatus] = (*earlier, decided)


def _add_round(ledger: Ledger, event: Event) -> None:
    ledger.proficiency[event.subject] = from_body(ProficiencyResult, event.body)


def _state_uncertainty(ledger: Ledger, event: Event) -> None:
    stated = from_body(StatedUncertainty, event.body)
    ledger.stated_uncertainties[stated.source, stated.apparatus] = stated


METROLOGY_APPLIERS: Final[dict[str, Callable[[Ledger, Event], None]]] = {
    "reference-material-opened": _open_material,
    "verification-interval-decided": _decide_interval,
    "proficiency-result-recorded": _add_round,
    "uncertainty-stated": _state_uncertainty,
}
