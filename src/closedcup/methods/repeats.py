"""Repeats of one method: which value is reported, and when another determination is due."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, get_args

from closedcup.errors import InputError
from closedcup.methods.published_method import Method
from closedcup.sources import Cited, Known

RepeatRuleName = Literal["method", "eu duplicate"]

# Two runs are accepted when they differ by at most 2 °C: seen in studies by EU test method A.9, of
# which one laboratory reported the mean and another the lower value.
_EU: Final = Cited(2.0, "degC", "eu-a9-studies", "read")


@dataclass(frozen=True, slots=True)
class RepeatRule:
    """How repeats become a value.

    limit_c: how far two may differ; None where the method's r decides. takes_mean: the mean is
    reported; otherwise each determination is a result and the first one stands.
    """

    limit_c: float | None
    takes_mean: bool
    words: str
    source: str
    known: Known


@dataclass(frozen=True, slots=True)
class Repeats:
    """What repeats say: the value to report, if there is one, and whether another is due."""

    reported_c: float | None
    mean_c: float
    lowest_c: float
    difference_c: float
    limit_c: float
    another_due: bool
    why: str


def parse_repeat_rule(text: str) -> RepeatRuleName:
    """Return the name of a rule, or raise InputError with the list."""
    for name in get_args(RepeatRuleName):
        if name == " ".join(text.lower().split()):
            found: RepeatRuleName = name
            return found
    raise InputError(
        "repeat-rule-unknown",
        f"“{text}” is not a rule for repeats.",
        where="rule",
        fix=f"Choose one of: {', '.join(get_args(RepeatRuleName))}.",
    )


def repeat_rule(method: Method, name: RepeatRuleName = "method") -> RepeatRule:
    """Return the rule of a method, or the EU rule for duplicates."""
    if name == "eu duplicate":
        words = f"two runs within {_EU.value:g} °C: their mean; the lower is the cautious value"
        return RepeatRule(_EU.value, takes_mean=True, words=words, source=_EU.source, known="read")
    limit = method.numbers.get("duplicate_limit")
    if limit is not None:
        words = (
            f"a result is the mean of two determinations within {limit.value:g} °C; a third is due "
            "where they differ further, and then the two that agree count"
        )
        return RepeatRule(limit.value, True, words, limit.source, limit.known)
    return RepeatRule(
        None,
        takes_mean=False,
        words="one determination is a result, the first one stands; where repeats differ by more "
        "than the method's r another is due",
        source=method.designation,
        known="memory",
    )


def judge_repeats(rule: RepeatRule, results_c: Sequence[float], limit_c: float) -> Repeats:
    """Judge determinations in the order they were made; limit_c: how far they may differ.

    Where a mean is asked and two differ too far, a third is due; then the two that agree count
    (common practice), or none.
    """
    mean_c, lowest_c = _mean_c(results_c), min(results_c)
    difference_c = max(results_c) - lowest_c
    agree = difference_c <= limit_c + 1e-9

    def told(value_c: float | None, why: str, *, due: bool) -> Repeats:
        return Repeats(value_c, mean_c, lowest_c, difference_c, limit_c, due, why)

    if not rule.takes_mean:
        if agree:
            return told(results_c[0], "Each is a result; the first one stands.", due=False)
        return told(None, "They differ by more than r: look for the cause, repeat.", due=True)
    if len(results_c) == 1:
        return told(None, "One of two: a second determination is due.", due=True)
    if agree:
        return told(mean_c, "They agree: the mean is reported.", due=False)
    if len(results_c) == 2:
        return told(None, "They differ too far: a third determination is due.", due=True)
    ordered = sorted(results_c)
    gaps = [(high - low, low, high) for low, high in itertools.pairwise(ordered)]
    gap_c, low_c, high_c = min(gaps)
    if gap_c <= limit_c + 1e-9:
        why = f"{low_c:g} and {high_c:g} °C agree: their mean is reported, the other stays on file."
        return told(_mean_c((low_c, high_c)), why, due=False)
    return told(None, "No two agree: look for the cause before going on.", due=True)


def _mean_c(values_c: Sequence[float]) -> float:
    return round(math.fsum(values_c) / len(values_c), 9)  # without the binary noise of decimals
