"""How much of a sample is left: what arrived or was noted last, less the specimens loaded since."""

from closedcup.errors import Refused
from closedcup.laboratory import Sample
from closedcup.laboratory.sample_keeping import VolumeNoted, last_of
from closedcup.methods import SpecimenLoaded, standing_moves
from closedcup.records.ledger import Ledger


def drawn_ml(ledger: Ledger, sample: str) -> float:
    """Return what the specimens loaded so far have drawn; a withdrawn entry draws nothing."""
    return sum(
        move.volume_ml
        for test in ledger.tests_of(sample)
        for series in ledger.series_of(test.id)
        for _, move in standing_moves([recorded.move for recorded in series.moves])
        if isinstance(move, SpecimenLoaded)
    )


def volume_left_ml(ledger: Ledger, sample: Sample) -> float:
    """Return what is left of a sample by the record."""
    drawn, noted = (
        drawn_ml(ledger, sample.id),
        last_of(ledger.keeping.get(sample.id, ()), VolumeNoted),
    )
    if noted is None:
        return float(sample.volume_ml) - drawn
    return float(noted.left_ml) - (drawn - noted.drawn_ml)


def refuse_overdrawn(sample: Sample, left_ml: float, specimen_ml: float) -> None:
    """Raise Refused where a specimen would take more than is left by the record."""
    if specimen_ml <= left_ml + 1e-9:
        return
    raise Refused(
        "sample-overdrawn",
        f"By the record {max(left_ml, 0.0):g} mL of {sample.id} are left, and the specimen takes "
        f"{specimen_ml:g} mL.",
        where=f"sample {sample.id}",
        fix="If there is more in the container, note it first: "
        f"closedcup left {sample.id} --volume … --why …; if it is used up, end the series.",
    )


def shortage_words(ledger: Ledger, sample: Sample) -> list[str]:
    """Say what the next tests lack, what they would draw on, and where the volumes disagree."""
    left_ml, kept_ml = volume_left_ml(ledger, sample), float(sample.kept_back_ml or 0)
    said = []
    if left_ml > float(sample.volume_ml):
        said.append(
            f"{left_ml:g} mL are left by the last note, and {float(sample.volume_ml):g} mL "
            "arrived: look which is wrong."
        )
    for test in ledger.tests_of(sample.id):
        plan = ledger.plans.get(test.id)
        if plan is None or ledger.result_of(test.id) is not None:
            continue
        needs_ml = plan.start.get("sample_needed_ml")
        if needs_ml is None:
            continue
        asked = f"{test.id} may take {float(needs_ml):g} mL; {max(left_ml, 0.0):g} mL are left"
        if needs_ml > left_ml:
            said.append(f"{asked}: that may not be enough. Ask the customer for more in time.")
        elif needs_ml > left_ml - kept_ml:
            said.append(f"{asked}, {kept_ml:g} mL of them kept back for a dispute.")
    return said
