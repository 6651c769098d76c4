"""Searches side by side: as the method writes them, halved, and by information for their cost."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import InputError
from closedcup.methods import (
    CupSet,
    FiniteAim,
    IgniterApplied,
    Observation,
    SpecimenLoaded,
    advance,
    begin,
    determinations,
    instruction,
    method,
    outcome,
)
from closedcup.planning.observing import Observing
from closedcup.planning.ordered_search import best_ordered_search, entropy_bits
from closedcup.planning.pace import usual_pace, usual_weights
from closedcup.planning.searching import exact_answers, search
from closedcup.planning.simulation import (
    Setting,
    best_possible_specimens,
    ladder_of,
    sample_blocks,
    simulate,
    steps_of,
    strategies,
)
from closedcup.planning.written_search import as_written


def a_setting(spread_c=3.0, step_c=1.0, scatter_c=0.0, lapse=0.0, samples=400, seed=1):
    return Setting(
        spread_c,
        step_c,
        Observing(scatter_c, lapse),
        usual_pace(),
        usual_weights(),
        samples=samples,
        seed=seed,
    )


def at_the_bench(start_cup_c, step_c, ladder, answers, sample):
    """Run one test through the method's own procedure; return what it reports and took."""
    state = begin(
        method("d3828-b"),
        FiniteAim(step_c),
        pressure_kpa=101.3,
        probe_correction_c=0.0,
        start_cup_c=start_cup_c,
        apparatus_low_cup_c=ladder.lowest_cup_c,
        apparatus_high_cup_c=float(ladder.cup_c(ladder.places - 1)),
    )
    while outcome(state) is None:
        due = instruction(state)
        flashed = answers(np.array([sample]), np.array([ladder.place(due.cup_c)]), np.array([0]))
        eye = Observation.FLASH if flashed[0] else Observation.NO_FLASH
        for move in (
            CupSet(due.cup_c),
            SpecimenLoaded(due.specimen, due.specimen_ml, due.cup_c),
            IgniterApplied(due.cup_c, eye, None, due.dwell_s or instruction(state).dwell_s),
        ):
            state = advance(state, move)
    return outcome(state).observed_cup_c, len(determinations(state))


@pytest.mark.parametrize(("step_c", "scatter_c"), [(1.0, 0.0), (1.0, 1.0), (0.5, 0.6)])
def test_the_simulated_search_is_the_procedure_of_the_bench(step_c, scatter_c):
    setting = a_setting(spread_c=6, step_c=step_c, scatter_c=scatter_c, samples=100)
    ladder = ladder_of(setting)
    ((flash_cup_c, answers),) = sample_blocks(setting, ladder)
    starts_c = np.random.default_rng(3).integers(45, 75, len(flash_cup_c))
    start = np.array([ladder.place(one) for one in starts_c.tolist()])
    made = search(
        ladder,
        as_written(ladder, steps_of(step_c), start),
        answers,
        flash_cup_c=flash_cup_c,
        pace=setting.pace,
        overshoot_c=5,
    )
    for sample in range(len(flash_cup_c)):
        reported_c, specimens = at_the_bench(
            float(starts_c[sample]), step_c, ladder, answers, sample
        )
        assert ladder.cup_c(made.reported[sample]) == reported_c
        assert made.specimens[sample] == specimens


@settings(max_examples=15, deadline=None)
@given(st.floats(0.1, 12), st.sampled_from([0.5, 1.0]), st.integers(0, 10**6))
def test_without_scatter_every_strategy_ends_around_the_true_flash_point(spread_c, step_c, seed):
    setting = a_setting(spread_c, step_c, samples=60, seed=seed)
    ladder = ladder_of(setting)
    ((flash_cup_c, _),) = sample_blocks(setting, ladder)
    for strategy in strategies(setting, ladder):
        made = search(
            ladder,
            strategy.rule(len(flash_cup_c)),
            exact_answers(ladder, flash_cup_c),
            flash_cup_c=flash_cup_c,
            pace=setting.pace,
            overshoot_c=5,
            at_most=60,
        )
        reported_c = ladder.cup_c(made.reported)
        assert (made.reported >= 0).all(), strategy.name
        assert (reported_c >= flash_cup_c).all(), strategy.name
        assert (reported_c - step_c < flash_cup_c).all(), strategy.name
        unlit = made.no_flashes[made.samples, made.reported - round(step_c / ladder.spacing_c)]
        assert (unlit > 0).all(), strategy.name


@pytest.mark.parametrize("step_c", [1.0, 0.5])
@pytest.mark.parametrize(
    ("scatter_c", "lapse"), [(0.0, 0.0), (0.2, 0.0), (1.0, 0.0), (0.6, 0.01), (0.0, 0.05)]
)
@pytest.mark.parametrize("spread_c", [0.3, 1.5, 8.0])
def test_no_strategy_beats_its_bound(spread_c, step_c, scatter_c, lapse):
    for one in simulate(a_setting(spread_c, step_c, scatter_c, lapse)):
        assert one.mean_specimens >= one.bound_specimens - 1e-9, one.name
        assert one.unresolved_share == 0, one.name


@pytest.mark.parametrize("spread_c", [1.5, 3.0, 8.0])
def test_without_scatter_all_strategies_report_the_same_and_screening_is_near_the_best(spread_c):
    setting = a_setting(spread_c, samples=4000)
    made = {one.name: one for one in simulate(setting)}
    assert {one.same_as_written_share for one in made.values()} == {1.0}
    assert {one.wrong_share for one in made.values()} == {0.0}
    adaptive = made["screening, adaptive"].mean_specimens
    assert adaptive <= best_possible_specimens(setting) + 0.3
    written, planned = made["written, from estimate"], made["written, planned start"]
    assert planned.mean_minutes < written.mean_minutes
    assert planned.overshoots <= written.overshoots


def test_the_same_seed_gives_the_same_answer_and_blocks_are_told():
    told = []
    first = simulate(a_setting(samples=1500, scatter_c=0.4), told.append)
    assert first == simulate(a_setting(samples=1500, scatter_c=0.4))
    assert first != simulate(a_setting(samples=1500, scatter_c=0.4, seed=2))
    assert told == [1000, 1500]


@given(st.lists(st.integers(0, 50), min_size=1, max_size=12).filter(any))
def test_the_best_ordered_search_lies_between_entropy_and_entropy_plus_2(counts):
    bits, best = entropy_bits(counts), best_ordered_search(counts)
    assert bits - 1e-9 <= best <= bits + 2 + sum(not one for one in counts)


@pytest.mark.parametrize(
    ("wrong", "kind"),
    [
        ({"spread_c": 0}, "spread-out-of-range"),
        ({"step_c": 2.0}, "step-unknown"),
        ({"samples": 0}, "samples-out-of-range"),
    ],
)
def test_what_cannot_be_simulated_is_named(wrong, kind):
    with pytest.raises(InputError) as caught:
        a_setting(**wrong)
    assert caught.value.kind == kind
