"""Checklists: versioned data, asked item by item."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from closedcup.errors import InputError
from closedcup.laboratory.apparatus import ServiceAnswer
from closedcup.sources import Known, parse_known


@dataclass(frozen=True, slots=True)
class ChecklistItem:
    """One thing to do or look at, with its caution and how the demand is known."""

    id: str
    stage: str
    what: str
    caution: str
    needs_finding: bool
    source: str
    known: Known


@dataclass(frozen=True, slots=True)
class Checklist:
    """All items, in the order of the work."""

    id: str
    version: int
    items: tuple[ChecklistItem, ...]

    def open_items(self, answers: tuple[ServiceAnswer, ...]) -> tuple[ChecklistItem, ...]:
        """Return the items that are not done, or lack the finding that they ask for.

        Raises InputError for an answer to an item that the checklist does not have.
        """
        given = {answer.item: answer for answer in answers}
        unknown = set(given) - {item.id for item in self.items}
        if unknown:
            raise InputError(
                "checklist-item-unknown",
                f"The checklist has no item {', '.join(sorted(unknown))}.",
                where=f"checklist {self.id}, version {self.version}",
                fix=f"Its items: {', '.join(item.id for item in self.items)}.",
            )
        return tuple(
            item
            for item in self.items
            if item.id not in given
            or not given[item.id].done
            or (item.needs_finding and not given[item.id].finding.strip())
        )


def service_checklist() -> Checklist:
    """Return the put-into-service checklist that ships with this version."""
    return checklist("put_into_service")


def start_of_day_checklist() -> Checklist:
    """Return what is looked at before the first specimen of a day."""
    return checklist("start_of_day")


def close_down_checklist() -> Checklist:
    """Return what is done when work at an apparatus ends."""
    return checklist("close_down")


@cache
def checklist(name: str) -> Checklist:
    """Return a checklist from its data file."""
    file = files("closedcup.laboratory") / "data" / f"{name}.toml"
    data = tomllib.loads(file.read_text(encoding="utf-8"))
    items = tuple(
        ChecklistItem(
            id=item["id"],
            stage=item["stage"],
            what=item["what"],
            caution=item.get("caution", ""),
            needs_finding=item.get("needs_finding", False),
            source=item["source"],
            known=parse_known(item["known"], where=item["id"]),
        )
        for item in data["items"]
    )
    return Checklist(id=data["id"], version=data["version"], items=items)
