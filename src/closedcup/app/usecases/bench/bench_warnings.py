"""What to mind at the bench besides the step itself: the day's card, the sample, the pressure."""

from datetime import datetime

from closedcup.app.usecases.apparatus.verification_due import due
from closedcup.app.usecases.people.qualifying import authorisation_warning
from closedcup.laboratory import Series
from closedcup.laboratory.sample_keeping import SampleOpened, entries_of
from closedcup.methods import (
    Instruction,
    Method,
    SpecimenLoaded,
    pressure_warnings,
    repeat_rule,
)
from closedcup.records.ledger import Ledger


def bench_warnings(
    ledger: Ledger, series: Series, method: Method, step: Instruction, left_ml: float
) -> tuple[str, ...]:
    """Return what to mind now, in words."""
    return (
        *_mean_of_two(ledger, series, method, step),
        *_sample_used_up(step, left_ml),
        *_not_opened(ledger, series, step),
        *_no_card(ledger, series),
        *_verification_overdue(ledger, series),
        *authorisation_warning(
            ledger, series.analyst, ledger.tests[series.test].method, series.begun_at[:10]
        ),
        *pressure_warnings(series.pressure.kpa),
    )


def _verification_overdue(ledger: Ledger, series: Series) -> tuple[str, ...]:
    when = due(ledger, series.apparatus, ledger.tests[series.test].method)
    if when is None or when > datetime.fromisoformat(series.begun_at):
        return ()
    text = (
        f"The verification of {series.apparatus} was due on {when.date().isoformat()}: what is "
        "made now is held until it is verified."
    )
    return (text,)


def _sample_used_up(step: Instruction, left_ml: float) -> tuple[str, ...]:
    if step.action not in {"set cup", "load specimen"} or left_ml >= step.specimen_ml:
        return ()
    text = (
        f"By the record {max(left_ml, 0.0):g} mL of the sample are left and a specimen takes "
        f"{step.specimen_ml:g} mL: if it is used up, end the series with the reason."
    )
    return (text,)


def _not_opened(ledger: Ledger, series: Series, step: Instruction) -> tuple[str, ...]:
    """Ask for the opening that a specimen is drawn at, where openings of the sample are noted."""
    sample = ledger.tests[series.test].sample
    openings = entries_of(ledger.keeping.get(sample, ()), SampleOpened)
    if step.action != "load specimen" or not openings:
        return ()
    drawn = [each.observed_at for each in series.moves if isinstance(each.move, SpecimenLoaded)]
    if not drawn or datetime.fromisoformat(openings[-1][0].at) > datetime.fromisoformat(drawn[-1]):
        return ()
    return (f"No opening of {sample} is on record since the last specimen: note how cold it is.",)


def _mean_of_two(
    ledger: Ledger, series: Series, method: Method, step: Instruction
) -> tuple[str, ...]:
    rule = repeat_rule(method)
    if not rule.takes_mean or step.action != "done" or ledger.result_of(series.test) is not None:
        return ()
    return (f"{method.designation}: {rule.words}. Begin a series for each, then issue the result.",)


def _no_card(ledger: Ledger, series: Series) -> tuple[str, ...]:
    if (series.apparatus, series.begun_at[:10]) in ledger.day_cards:
        return ()
    missing = "flame gauge, seal and blank were not recorded"
    return (f"No start-of-day card of {series.apparatus} for this day: {missing}.",)
