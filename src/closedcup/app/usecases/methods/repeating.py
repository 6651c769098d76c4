"""Turn repeats by one method into the value that is reported."""

from typing import Any

from closedcup.app.usecases.methods.citing import in_words
from closedcup.app.usecases.methods.methods_on_record import MethodLookup
from closedcup.errors import InputError
from closedcup.methods import method, precision_at
from closedcup.methods.repeats import judge_repeats, parse_repeat_rule, repeat_rule
from closedcup.metrology import agree
from closedcup.quantities import Temperature, round_half_up

Answer = dict[str, Any]


def repeats(
    method_id: str,
    results: tuple[Temperature, ...],
    *,
    rule: str = "method",
    product: str | None = None,
    lookup: MethodLookup = method,
) -> Answer:
    """Say which value repeats give, corrected to 101.3 kPa and not rounded yet, or what is due."""
    if not results:
        raise InputError(
            "results-missing",
            "Which determinations?",
            where="results",
            fix="Give each as --result.",
        )
    chosen = lookup(method_id)
    used = repeat_rule(chosen, parse_repeat_rule(rule))
    values_c = [result.c for result in results]
    sources = [{"value_of": used.words, "source": used.source, "known": used.known}]
    limit_c = used.limit_c
    if limit_c is None:
        limit_c = 0.0
        if len(values_c) > 1:
            stated = precision_at(chosen, sum(values_c) / len(values_c), product)
            sources += stated.sources()[:1]
            limit_c = agree(values_c, repeatability_c=stated.repeatability_c).limit_c
    found = judge_repeats(used, values_c, limit_c)
    step_c = chosen.rounding_step_c(0.5)
    return {
        "method": chosen.id,
        "rule": used.words,
        "results_c": values_c,
        "value_c": found.reported_c,
        "reported_c": None if found.reported_c is None else round_half_up(found.reported_c, step_c),
        "mean_c": found.mean_c,
        "lowest_c": found.lowest_c,
        "difference_c": found.difference_c,
        "limit_c": found.limit_c,
        "another_due": found.another_due,
        "why": found.why,
        "sources": in_words(sources),
    }
