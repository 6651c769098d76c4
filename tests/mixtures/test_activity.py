"""Every model of activity: against an independent library, and by identities that all must obey.

One list of models, one list of identities. What a model is known not to do is named beside it.
"""

import numpy as np
import pytest

from closedcup.errors import InputError, Refused
from closedcup.mixtures import MODELS, activity_model, catalogue, find
from closedcup.mixtures.activity import parse_parameters

BLENDS = [
    ("ethanol", "octane", "toluene", "butanone"),
    ("water", "1-butanol", "acetone", "ethyl acetate"),
    ("hexadecane", "methanol", "water", "tetrahydrofuran"),
    ("heptane", "octane", "decane", "cyclohexane"),
]
PAIR_MODELS = ("nrtl", "wilson", "uniquac")
EVERY_MODEL = [*MODELS, *PAIR_MODELS]
# One is the reference of the next only in the limit; here nothing is excused but this:
KNOWN_FAILURES = {("wilson", "parts"): "Wilson's equation cannot part a liquid into two"}


def made_up(model, names):
    """Parameters of no real system: identities hold for any."""
    rng = np.random.default_rng(len(model))
    pairs = [
        {"first": one, "second": other, "alpha": 0.3}
        | dict(zip(("a12", "a21"), rng.uniform(-0.3, 0.3, 2), strict=True))
        | dict(zip(("b12_k", "b21_k"), rng.uniform(-300, 300, 2), strict=True))
        for i, one in enumerate(names)
        for other in names[i + 1 :]
    ]
    return parse_parameters({"model": model, "source": "made up for this test", "pair": pairs})


def make(model, names):
    parameters = made_up(model, names) if model in PAIR_MODELS else None
    return activity_model(model, [find(name) for name in names], parameters)


def rows(count=40, size=4, seed=1):
    rng = np.random.default_rng(seed)
    return rng.dirichlet(np.full(size, 0.7), count), rng.uniform(260, 400, count)


def gibbs_duhem(model, names):
    """Σ x_i d ln γ_i = 0 along any direction at constant temperature."""
    x, at = rows()
    x = (x + 0.01) / 1.04
    direction = np.random.default_rng(2).normal(size=x.shape)
    step = 1e-5 * x * (direction - (x * direction).sum(axis=1, keepdims=True))
    made = make(model, names)
    change = made.ln_gamma(x + step, at) - made.ln_gamma(x - step, at)
    np.testing.assert_allclose((x * change).sum(axis=1), 0, atol=1e-8)


def pure_limit(model, names):
    """A pure liquid is its own reference, and is approached without a step."""
    made, at = make(model, names), np.full(len(names), 300.0)
    np.testing.assert_allclose(np.diag(made.ln_gamma(np.eye(len(names)), at)), 0, atol=1e-11)
    near = np.full((4, 4), 1e-7) + (1 - 4e-7) * np.eye(4)
    np.testing.assert_allclose(np.diag(made.ln_gamma(near, at)), 0, atol=1e-5)


def permutation(model, names):
    x, at = rows()
    order = [2, 0, 3, 1]
    parameters = made_up(model, names) if model in PAIR_MODELS else None
    turned = activity_model(model, [find(names[i]) for i in order], parameters)
    expected = make(model, names).ln_gamma(x, at)[:, order]
    np.testing.assert_allclose(turned.ln_gamma(x[:, order], at), expected, atol=1e-10)


def infinite_dilution(model, names):
    """At the very end of the scale activities are finite, and the same as just before it."""
    made, at = make(model, names), np.full(len(names), 300.0)
    end, near = np.eye(4), np.full((4, 4), 1e-9) + (1 - 4e-9) * np.eye(4)
    assert np.isfinite(made.ln_gamma(end, at)).all()
    np.testing.assert_allclose(made.ln_gamma(near, at), made.ln_gamma(end, at), atol=1e-4)


def rows_apart(model, names):
    """Rows do not touch each other."""
    x, at = rows(count=5)
    made = make(model, names)
    alone = [made.ln_gamma(x[i : i + 1], at[i : i + 1])[0] for i in range(len(x))]
    np.testing.assert_allclose(made.ln_gamma(x, at), alone, rtol=1e-12, atol=1e-13)


IDENTITIES = (gibbs_duhem, pure_limit, permutation, infinite_dilution, rows_apart)


@pytest.mark.parametrize("names", BLENDS, ids="+".join)
@pytest.mark.parametrize("model", EVERY_MODEL)
@pytest.mark.parametrize("identity", IDENTITIES, ids=lambda identity: identity.__name__)
def test_identity(identity, model, names):
    identity(model, names)


STRONG = {"first": "water", "second": "toluene", "a12": 0, "a21": 0, "alpha": 0.2}


@pytest.mark.parametrize("model", ["unifac", "dortmund", *PAIR_MODELS])
def test_strong_repulsion_parts(model, request):
    """ln a must fall somewhere on the line of a pair that repels strongly."""
    if (model, "parts") in KNOWN_FAILURES:
        request.applymarker(pytest.mark.xfail(reason=KNOWN_FAILURES[model, "parts"]))
    sign = 1 if model == "nrtl" else -1
    pair = STRONG | {"b12_k": sign * 900, "b21_k": sign * 900}
    parameters = parse_parameters({"model": model, "source": "made up", "pair": [pair]}) \
        if model in PAIR_MODELS else None  # fmt: skip
    made = activity_model(model, [find("water"), find("toluene")], parameters)
    line = np.linspace(0.001, 0.999, 400)
    x = np.stack([line, 1 - line], axis=1)
    ln_a = np.log(line) + made.ln_gamma(x, np.full(len(x), 298.15))[:, 0]
    assert (np.diff(ln_a) < 0).any()


@pytest.mark.outside(source="thermo, classes UNIFAC, NRTL, Wilson and UNIQUAC", known="package")
@pytest.mark.parametrize("names", BLENDS, ids="+".join)
@pytest.mark.parametrize("model", [model for model in EVERY_MODEL if model != "ideal"])
def test_equals_thermo(model, names):
    x, at = rows(count=12, seed=5)
    ours = np.exp(make(model, names).ln_gamma(x, at))
    theirs = [thermo_gammas(model, names, row, kelvin) for row, kelvin in zip(x, at, strict=True)]
    np.testing.assert_allclose(ours, theirs, rtol=1e-9)


def thermo_gammas(model, names, x, kelvin):
    from thermo import unifac
    from thermo.nrtl import NRTL
    from thermo.uniquac import UNIQUAC
    from thermo.wilson import Wilson

    liquids = [find(name) for name in names]
    if model in MODELS:
        unifac.load_unifac_ip()
        version, tables, key = {
            "unifac": (0, (unifac.UFSG, unifac.UFIP), "UNIFAC"),
            "dortmund": (1, (unifac.DOUFSG, unifac.DOUFIP2006), "MODIFIED_UNIFAC"),
        }[model]
        groups = [unifac.UNIFAC_group_assignment_DDBST(each.cas, key) for each in liquids]
        return unifac.UNIFAC.from_subgroups(
            T=kelvin, xs=x.tolist(), chemgroups=groups, version=version,
            subgroups=tables[0], interaction_data=tables[1],
        ).gammas()  # fmt: skip
    parameters = made_up(model, names)
    a, b = (matrix.tolist() for matrix in parameters.matrices(liquids))
    if model == "nrtl":
        alpha = parameters.alpha_matrix(liquids).tolist()
        return NRTL(T=kelvin, xs=x.tolist(), tau_as=a, tau_bs=b, alpha_cs=alpha).gammas()
    if model == "wilson":
        return Wilson(T=kelvin, xs=x.tolist(), lambda_as=a, lambda_bs=b).gammas()
    made = make(model, names)
    sizes = {"rs": made._r.tolist(), "qs": made._q.tolist()}
    return UNIQUAC(T=kelvin, xs=x.tolist(), tau_as=a, tau_bs=b, **sizes).gammas()


@pytest.mark.parametrize(
    ("model", "title"), [("unifac", "UNIFAC"), ("dortmund", r"Modified UNIFAC \(Dortmund\)")]
)
def test_a_liquid_without_groups_is_named(model, title):
    with pytest.raises(Refused, match=rf"{title} has no groups for nitromethane.*ideal") as refused:
        activity_model(model, [find("toluene"), find("nitromethane")])
    assert refused.value.kind == "activity-parameters-missing"


def test_a_pair_never_published_is_refused_not_taken_as_zero():
    from thermo.unifac import UFIP, UFSG, load_unifac_ip

    load_unifac_ip()
    usable = [liquid for liquid in catalogue().values() if liquid.subgroups][:300]
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


def test_the_default_is_chosen_by_the_kind_of_blend_and_has_a_stand_in():
    def chosen(*names):
        return activity_model("default", [find(name) for name in names]).name

    assert chosen("ethanol", "octane") == "unifac"
    assert chosen("ethanol", "water") == "dortmund"
    with pytest.raises(Refused, match="nitromethane"):
        chosen("toluene", "nitromethane")
    assert not find("dimethyl carbonate").subgroups
    assert chosen("dimethyl carbonate", "octane") == "dortmund"


@pytest.mark.parametrize("name", ["wilson", "guess"])
def test_unknown_model(name):
    with pytest.raises(InputError, match="unifac, dortmund, ideal"):
        activity_model(name, [find("toluene")])


PAIR = {"first": "ethanol", "second": "water", "a12": 0, "b12_k": 1, "a21": 0, "b21_k": 1}


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ({"model": "margules", "source": "s", "pair": [PAIR]}, "nrtl, wilson, uniquac"),
        ({"model": "wilson", "pair": [PAIR]}, "source"),
        ({"model": "wilson", "source": "s"}, "pair"),
        ({"model": "nrtl", "source": "s", "pair": [PAIR]}, "pair 1, alpha"),
        ({"model": "nrtl", "source": "s", "pair": [PAIR | {"alpha": 3}]}, "at most 1"),
        ({"model": "wilson", "source": "s", "pair": [PAIR, PAIR]}, "each pair once"),
        ({"model": "wilson", "source": "s", "pair": [PAIR | {"a12": True}]}, "pair 1, a12"),
        ({"model": "wilson", "source": "s", "pair": [PAIR | {"first": "x"}]}, "not a liquid"),
        (
            {"model": "uniquac", "source": "s", "pair": [PAIR],
             "liquid": [{"name": "water", "r": 0, "q": 1}]},
            "liquid 1",
        ),
    ],
)  # fmt: skip
def test_parameters_that_cannot_be_used_are_said(table, says):
    with pytest.raises(InputError, match=says):
        parse_parameters(table)


def test_a_missing_pair_of_the_user_is_refused_by_name():
    parameters = parse_parameters({"model": "wilson", "source": "s", "pair": [PAIR]})
    with pytest.raises(Refused, match="ethanol and toluene"):
        activity_model("wilson", [find("ethanol"), find("toluene")], parameters)
