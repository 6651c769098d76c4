"""What a method cannot be asked: a closed-cup answer of an open cup, a run without numbers."""

from closedcup.errors import Refused
from closedcup.methods.published_method import Method


def refuse_open_cup(method: Method) -> None:
    """Refuse an open cup where a closed-cup value is asked; the two are not converted."""
    if method.is_closed_cup:
        return
    raise Refused(
        "open-cup",
        f"{method.designation} is an open cup; it answers no closed-cup question, and its values "
        "are not converted.",
        where=f"method {method.id}",
        fix="Choose a closed-cup method: closedcup choose --product … --purpose …",
    )


def refuse_unguided(method: Method) -> None:
    """Refuse a method that cannot be run here: an open cup, or one whose text was not seen."""
    refuse_open_cup(method)
    if method.guided:
        return
    raise Refused(
        "method-not-guided",
        f"The text of {method.designation} was not seen: there are no numbers on file to plan or "
        "run it by.",
        where=f"method {method.id}",
        fix="Follow the laboratory's own copy outside this program, or choose a method that is "
        "guided: closedcup methods",
    )
