"""Evidence that cannot be true together: told, so that the wrong one is found, never averaged."""

from closedcup.classification.evidence import Evidence
from closedcup.errors import InputError


def refuse_contradictions(evidence: Evidence) -> None:
    """Raise InputError for the first two pieces of evidence that exclude each other."""
    for found in (_bracket(evidence), _fire_point(evidence), _burning(evidence), _shares(evidence)):
        if found is not None:
            what, where, fix = found
            raise InputError("contradictory-evidence", what, where=where, fix=fix)


def _bracket(evidence: Evidence) -> tuple[str, str, str] | None:
    low_c, high_c = evidence.no_flash_at_c, evidence.flash_at_c
    if low_c is None or high_c is None or low_c < high_c:
        return None
    return (
        f"No flash at {low_c:g} °C and a flash at {high_c:g} °C contradict each other.",
        "flash_at_c",
        "Repeat both determinations with fresh specimens.",
    )


def _fire_point(evidence: Evidence) -> tuple[str, str, str] | None:
    low_c, _ = evidence.flash_bracket()
    if evidence.fire_point_c is None or evidence.fire_point_c >= low_c:
        return None
    return (
        f"A fire point of {evidence.fire_point_c:g} °C lies below the flash point.",
        "fire_point_c",
        "Look at both results: the unit, the sample, and which of them is the fire point.",
    )


def _burning(evidence: Evidence) -> tuple[str, str, str] | None:
    if evidence.burns is not False:
        return None
    if evidence.sustains_combustion:
        return (
            "It cannot both sustain combustion and not burn at all.",
            "burns",
            "Enter what the tests showed; leave out what was not tested.",
        )
    if evidence.flash_c is not None or evidence.flash_at_c is not None:
        return (
            "A liquid that flashed is said not to burn at all.",
            "burns",
            "If it flashes but does not burn on, say that it does not sustain combustion.",
        )
    return None


def _shares(evidence: Evidence) -> tuple[str, str, str] | None:
    water, alcohol = evidence.water_mass_percent, evidence.alcohol_volume_percent
    if water is None or alcohol is None:
        return None
    # Whatever the densities: pure water leaves no room for alcohol, pure alcohol none for water.
    if (water == 100 and alcohol > 0) or (alcohol == 100 and water > 0):
        return (
            f"{water:g} % of water and {alcohol:g} % of alcohol do not fit into one liquid.",
            "water_mass_percent",
            "Enter water by mass and alcohol by volume of the liquid as it is.",
        )
    return None
