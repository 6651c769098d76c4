"""Activity coefficients against an independent library, and identities that any model obeys."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.mixtures import activity_model, catalogue, find

NAMES = (
    "ethanol", "octane", "toluene", "butanone", "water", "1-butanol", "ethyl acetate", "pyridine",
    "acetic acid", "2-butoxyethanol", "tetrahydrofuran", "acetonitrile", "limonene", "hexadecane",
)  # fmt: skip


def compositions(size):
    parts = st.lists(st.floats(0.001, 1), min_size=size, max_size=size)
    return parts.map(lambda values: np.array(values) / sum(values))


def blends_of(size):
    return st.tuples(
        st.lists(st.sampled_from(NAMES), min_size=size, max_size=size, unique=True),
        compositions(size),
        st.floats(250, 420),
    )


def unifac(names):
    try:
        return activity_model("unifac", [find(name) for name in names])
    except Refused:
        assume(False)  # a pair without published parameters


@pytest.mark.outside(source="thermo 0.6.1, class UNIFAC", known="package")
@given(blends_of(4))
def test_equals_thermo(case):
    from thermo.unifac import UFIP, UFSG, UNIFAC

    names, x, kelvin = case
    ours = np.exp(unifac(names).ln_gamma(x[None, :], np.array([kelvin]))[0])
    groups = [dict(find(name).subgroups) for name in names]
    theirs = UNIFAC.from_subgroups(
        T=kelvin, xs=x.tolist(), chemgroups=groups, version=0, subgroups=UFSG, interaction_data=UFIP
    ).gammas()
    np.testing.assert_allclose(ours, theirs, rtol=1e-10)


@given(blends_of(3))
def test_gibbs_duhem(case):
    """Σ x_i d ln γ_i = 0 along any direction at constant temperature."""
    names, x, kelvin = case
    step = 1e-4 * x * np.array([1.0, -1.0, 0.0])
    step -= x * step.sum()
    around = np.stack([x - step, x + step])
    ln_gamma = unifac(names).ln_gamma(around, np.full(2, kelvin))
    assert abs((x * (ln_gamma[1] - ln_gamma[0])).sum()) < 1e-8


@given(blends_of(3), st.permutations(range(3)))
def test_order_of_components_does_not_matter(case, order):
    names, x, kelvin = case
    at = np.array([kelvin])
    direct = unifac(names).ln_gamma(x[None, :], at)[0][order]
    turned = unifac([names[i] for i in order]).ln_gamma(x[None, order], at)[0]
    np.testing.assert_allclose(turned, direct, atol=1e-10)


@given(st.sampled_from(NAMES), st.floats(250, 420))
def test_pure_liquid_is_its_own_reference(name, kelvin):
    other = "toluene" if name != "toluene" else "octane"
    ln_gamma = unifac([name, other]).ln_gamma(np.array([[1.0, 0.0]]), np.array([kelvin]))
    assert abs(ln_gamma[0, 0]) < 1e-12


def test_rows_do_not_touch_each_other():
    model = unifac(["ethanol", "water"])
    x, kelvin = np.array([[0.2, 0.8], [0.7, 0.3]]), np.array([280.0, 350.0])
    alone = [model.ln_gamma(x[i : i + 1], kelvin[i : i + 1])[0] for i in range(2)]
    np.testing.assert_allclose(model.ln_gamma(x, kelvin), alone, rtol=1e-13)


def test_a_liquid_without_groups_is_named():
    with pytest.raises(Refused, match=r"no groups for nitromethane.*ideal") as refused:
        activity_model("unifac", [find("toluene"), find("nitromethane")])
    assert refused.value.kind == "activity-parameters-missing"


def test_a_pair_never_published_is_refused_not_taken_as_zero():
    from thermo.unifac import UFIP, UFSG, load_unifac_ip

    load_unifac_ip()
    usable = [liquid for liquid in catalogue().values() if liquid.subgroups]
    mains = {liquid.cas: {UFSG[g].main_group_id for g in liquid.subgroups} for liquid in usable}
    missing = [
        (one, other)
        for one in usable
        for other in usable
        if any(m != n and n not in UFIP[m] for m in mains[one.cas] for n in mains[other.cas])
    ]
    assert missing
    for one, other in missing[:20]:
        with pytest.raises(Refused, match="no published interaction"):
            activity_model("unifac", [one, other])


def test_unknown_model():
    with pytest.raises(InputError, match="unifac, ideal"):
        activity_model("wilson", [find("toluene")])
