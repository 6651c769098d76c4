"""What was taken in from lists and files: compositions, results from outside, own liquids."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from closedcup.laboratory import Composition
from closedcup.laboratory.outside_result import OutsideResult, OwnLiquid
from closedcup.records.encoding import from_body
from closedcup.records.events import Event
from closedcup.records.facts import ImportedFile, ImportMapping
from closedcup.records.ledger import Ledger


def _record_composition(ledger: Ledger, event: Event) -> None:
    found = from_body(Composition, event.body)
    ledger.samples[event.subject] = replace(ledger.samples[event.subject], composition=found)


def _record_outside_result(ledger: Ledger, event: Event) -> None:
    ledger.outside_results[event.subject] = from_body(OutsideResult, event.body)


def _record_own_liquid(ledger: Ledger, event: Event) -> None:
    ledger.own_liquids[event.subject] = from_body(OwnLiquid, event.body)


def _keep_mapping(ledger: Ledger, event: Event) -> None:
    ledger.import_mappings[event.subject] = from_body(ImportMapping, event.body)


def _import_file(ledger: Ledger, event: Event) -> None:
    ledger.imported[event.subject] = from_body(ImportedFile, event.body)


INTAKE_APPLIERS: Final[Mapping[str, Callable[[Ledger, Event], None]]] = {
    "composition-recorded": _record_composition,
    "outside-result-recorded": _record_outside_result,
    "own-liquid-recorded": _record_own_liquid,
    "import-mapping-kept": _keep_mapping,
    "file-imported": _import_file,
}
