"""What the laboratory decided to ask of its own people: four eyes, authorisation by method."""

from dataclasses import asdict
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.reasons import in_words
from closedcup.laboratory.working_rules import WorkingRules

Answer = dict[str, Any]


def decide_rules(
    opened: OpenLaboratory,
    *,
    four_eyes: bool | None,
    authorisation: bool | None,
    reason: str,
    key: str | None = None,
) -> Answer:
    """Decide on the rules from now on; one that is None stays as it is."""
    now = opened.permit("working-rules-decided").rules
    said = in_words(reason, "reason")
    decided = WorkingRules(
        now.four_eyes if four_eyes is None else four_eyes,
        now.authorisation if authorisation is None else authorisation,
    )
    opened.record("working-rules-decided", "laboratory", decided, key=key, reason=said)
    return rules_in_force(opened)


def rules_in_force(opened: OpenLaboratory) -> Answer:
    """Return the rules as decided last."""
    return asdict(opened.state.rules)
