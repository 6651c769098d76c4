"""Strategies of searching beside each other on the same simulated samples.

Every strategy is answered from one table of answers (sample, temperature, how often tested there),
so that what differs between them is the strategy. No method's result comes from here.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np

from closedcup.errors import InputError
from closedcup.methods.aim import require_step
from closedcup.methods.search import Steps
from closedcup.planning.belief import Belief, Interval, prior_from_interval
from closedcup.planning.free_search import Screening, bisection
from closedcup.planning.observing import Floats, Observing
from closedcup.planning.ordered_search import best_ordered_search, entropy_bits
from closedcup.planning.pace import Pace, Weights
from closedcup.planning.planned_start import plan_start
from closedcup.planning.searching import (
    NOTHING,
    Answers,
    Bools,
    Ints,
    Ladder,
    Progress,
    Rule,
    search,
)
from closedcup.planning.written_search import as_written

Mode = Literal["method", "screening"]

EXPECTED_CUP_C: Final = 60.0  # where the samples lie; only the search as written depends on it

_Z_95: Final = 1.959964
_BLOCK: Final = 1000  # samples at once, to keep the tables small and the progress bar moving
_REPEATS: Final = 8  # fresh answers at one temperature; further ones begin again with the first
_MOST_SPECIMENS: Final = 60  # a search that needs more gives up
_GRID_C: Final = 0.2  # of the beliefs of simulated searches
_ROUNDING_C: Final = 1e-9  # binary noise of a difference of temperatures


@dataclass(frozen=True, slots=True)
class Setting:
    """What is simulated: samples spread normally around their estimates, tested to a step."""

    spread_c: float
    step_c: float
    model: Observing
    pace: Pace
    weights: Weights
    samples: int = 4000
    seed: int = 1

    def __post_init__(self) -> None:
        if not 0.1 <= self.spread_c <= 30:
            raise InputError(
                "spread-out-of-range",
                f"A spread of {self.spread_c:g} °C is not simulated.",
                where="spread",
                fix="Give the standard deviation of the estimates, 0.1 to 30 °C.",
            )
        require_step(self.step_c)
        if not 1 <= self.samples <= 1_000_000:
            raise InputError(
                "samples-out-of-range",
                f"{self.samples} samples cannot be simulated.",
                where="samples",
                fix="Ask for 1 to 1,000,000; a few thousand are enough.",
            )


@dataclass(frozen=True, slots=True)
class Summary:
    """How a strategy fared, on average over the samples.

    wrong_share: |reported - flash point - step/2| > step/2 + 2 scatter, or nothing reported.
    overshoots: specimens tested too far above the flash point, a sample. bound_specimens: the
    least mean that any search giving these answers can have. same_as_written_share: samples with
    the value of the search as written from the estimate. specimen_counts: samples by specimens,
    from 0.
    """

    name: str
    mode: Mode
    mean_specimens: float
    p95_specimens: float
    mean_minutes: float
    wrong_share: float
    overshoots: float
    bound_specimens: float
    same_as_written_share: float
    unresolved_share: float
    specimen_counts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Strategy:
    """A named rule; `mode` says whether what it finds could be a result of the method."""

    name: str
    mode: Mode
    rule: Callable[[int], Rule]  # for a number of samples


@dataclass(slots=True)
class _Tally:
    specimens: list[Ints] = field(default_factory=list)
    minutes: list[Floats] = field(default_factory=list)
    overshoots: list[Ints] = field(default_factory=list)
    reported: list[Ints] = field(default_factory=list)
    wrong: list[Bools] = field(default_factory=list)


def simulate(setting: Setting, on_block: Callable[[int], None] | None = None) -> list[Summary]:
    """Run every strategy on the same samples; the first is the method as written.

    on_block is told the samples done so far. The same setting and seed give the same answer.
    """
    ladder = ladder_of(setting)
    chosen = strategies(setting, ladder)
    tallies = [_Tally() for _ in chosen]
    done = 0
    for flash_cup_c, answers in sample_blocks(setting, ladder):
        for strategy, tally in zip(chosen, tallies, strict=True):
            made = search(
                ladder,
                strategy.rule(len(flash_cup_c)),
                answers,
                flash_cup_c=flash_cup_c,
                pace=setting.pace,
                overshoot_c=setting.weights.overshoot_c,
                at_most=_MOST_SPECIMENS,
            )
            _add(tally, made, flash_cup_c, setting)
        done += len(flash_cup_c)
        if on_block is not None:
            on_block(done)
    first = np.concatenate(tallies[0].reported)
    return [
        _summary(each, tally, first, setting) for each, tally in zip(chosen, tallies, strict=True)
    ]


def ladder_of(setting: Setting) -> Ladder:
    """Return the cup temperatures of a simulation: five spreads and 10 °C to either side."""
    half_c = float(np.ceil(5 * setting.spread_c + 10))
    return Ladder(EXPECTED_CUP_C - half_c, setting.step_c, round(2 * half_c / setting.step_c) + 1)


def prior_of(setting: Setting, ladder: Ladder) -> Belief:
    """Return what is believed of each sample before it is tested: the truth about the samples."""
    half_c = _Z_95 * setting.spread_c
    return prior_from_interval(
        Interval(EXPECTED_CUP_C, EXPECTED_CUP_C - half_c, EXPECTED_CUP_C + half_c),
        lowest_cup_c=ladder.lowest_cup_c,
        highest_cup_c=float(ladder.cup_c(ladder.places - 1)),
        doubt=0.0,
        grid_c=min(_GRID_C, setting.spread_c / 5),
    )


def best_possible_specimens(setting: Setting) -> float:
    """Return the least mean number of specimens of any search, were answers never misleading."""
    ladder = ladder_of(setting)
    edges = (ladder.cup_c(np.arange(ladder.places)) - EXPECTED_CUP_C) / setting.spread_c
    exact = Observing(1.0, lapse=0.0).flash_probability(edges, 0.0)
    return best_ordered_search(np.diff(np.concatenate([[0.0], exact, [1.0]])))


def sample_blocks(setting: Setting, ladder: Ladder) -> Iterator[tuple[Floats, Answers]]:
    """Yield true flash points with the answers of their specimens, block by block."""
    blocks = -(-setting.samples // _BLOCK)
    for number, seed in enumerate(np.random.SeedSequence(setting.seed).spawn(blocks)):
        size = min(_BLOCK, setting.samples - number * _BLOCK)
        random = np.random.default_rng(seed)
        flash_c = EXPECTED_CUP_C + setting.spread_c * random.standard_normal(size)
        yield flash_c, _answers(setting.model, ladder, flash_c, random)


def strategies(setting: Setting, ladder: Ladder) -> list[Strategy]:
    """Return the strategies that are compared, the method as written first.

    The planned start keeps to starts that come to the same value as the method as written; the
    cheapest one does not where specimens scatter.
    """
    steps, prior = steps_of(setting.step_c), prior_of(setting, ladder)
    at = ladder.place(EXPECTED_CUP_C)
    low_end = ladder.place(float(np.floor(EXPECTED_CUP_C - _Z_95 * setting.spread_c)))
    high_end = ladder.place(float(np.ceil(EXPECTED_CUP_C + _Z_95 * setting.spread_c)))

    def planned(scatter_c: float) -> int:
        found = plan_start(
            prior,
            steps,
            lowest_cup_c=ladder.lowest_cup_c,
            highest_cup_c=float(ladder.cup_c(ladder.places - 1)),
            ceiling_cup_c=float(ladder.cup_c(ladder.places - 1)),
            usual_cup_c=EXPECTED_CUP_C,
            scatter_c=scatter_c,
            pace=setting.pace,
            weights=setting.weights,
        )
        return ladder.place(found.start_cup_c)

    def written(start: int) -> Callable[[int], Rule]:
        return lambda samples: as_written(ladder, steps, np.full(samples, start))

    screening = Screening(
        prior, ladder, setting.model, step=1, pace=setting.pace, weights=setting.weights
    )
    return [
        Strategy("written, from estimate", "method", written(at)),
        Strategy("written, from low end", "method", written(low_end)),
        Strategy("written, planned start", "method", written(planned(setting.model.scatter_c))),
        Strategy("written, cheapest start", "method", written(planned(0.0))),
        Strategy(
            "screening, bisection", "screening", lambda _: bisection(ladder, low_end, high_end, 1)
        ),
        Strategy("screening, adaptive", "screening", lambda _: screening),
    ]


def steps_of(step_c: float) -> Steps:
    """Return the steps of the small-scale finite search for a last step.

    5, 1 and 0.5 °C moves: 16 CFR 1500.43a and GOST R ISO 3679 (read); 20 °C after vapour has
    burnt on (common practice), which simulated samples do not.
    """
    return Steps(5.0, 1.0, None if step_c >= 1 else step_c, 20.0)


def _answers(
    model: Observing, ladder: Ladder, flash_c: Floats, random: np.random.Generator
) -> Answers:
    shape = (len(flash_c), ladder.places, _REPEATS)
    threshold_c = flash_c[:, None, None] + model.scatter_c * random.standard_normal(shape)
    table = threshold_c <= ladder.cup_c(np.arange(ladder.places))[:, None]
    if model.lapse > 0:
        table ^= random.random(shape) < model.lapse

    def answers(samples: Ints, places: Ints, before: Ints) -> Bools:
        return np.asarray(table[samples, places, before % _REPEATS])

    return answers


def _add(tally: _Tally, made: Progress, flash_cup_c: Floats, setting: Setting) -> None:
    reported_c = made.ladder.cup_c(made.reported)
    off_c = np.abs(reported_c - flash_cup_c - setting.step_c / 2)
    allowed_c = setting.step_c / 2 + 2 * setting.model.scatter_c + _ROUNDING_C
    tally.specimens.append(made.specimens)
    tally.minutes.append(made.minutes)
    tally.overshoots.append(made.overshoots)
    tally.reported.append(made.reported)
    tally.wrong.append((made.reported == NOTHING) | (off_c > allowed_c))


def _summary(strategy: Strategy, tally: _Tally, first: Ints, setting: Setting) -> Summary:
    specimens, reported = np.concatenate(tally.specimens), np.concatenate(tally.reported)
    return Summary(
        name=strategy.name,
        mode=strategy.mode,
        mean_specimens=float(specimens.mean()),
        p95_specimens=float(np.quantile(specimens, 0.95, method="inverted_cdf")),
        mean_minutes=float(np.concatenate(tally.minutes).mean()),
        wrong_share=float(np.concatenate(tally.wrong).mean()),
        overshoots=float(np.concatenate(tally.overshoots).mean()),
        bound_specimens=_bound(reported, setting.model),
        same_as_written_share=float((reported == first).mean()),
        unresolved_share=float((reported == NOTHING).mean()),
        specimen_counts=tuple(np.bincount(specimens).tolist()),
    )


def _bound(reported: Ints, model: Observing) -> float:
    """Return the least mean number of observations that gives these answers.

    Always the entropy of the answers; the best ordered search where nothing misleads.
    """
    counts: Sequence[int] = np.bincount(reported - NOTHING).tolist()
    if model.scatter_c > 0 or model.lapse > 0:
        return entropy_bits(counts)
    return best_ordered_search(counts)
