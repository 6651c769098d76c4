"""The commands that others script: their keys, their exit statuses, one object on stdout."""

import json

import pytest

KEYS = [
    (
        ["estimate", "-c", "ethanol=0.5", "-c", "111-65-9=0.5", "--pressure", "95 kPa"],
        "flash_point_c cup_flash_point_c low_c high_c coverage liquid_phases components sources",
    ),
    (
        ["estimate", "-c", "n-decane=1", "--method", "d3828-b"],
        "flash_point_c starting_cup_c low_c high_c",
    ),
    (
        ["correct", "--observed", "60.2 degC", "--pressure", "714 mmHg", "--method", "d3828-b"],
        "correction_c corrected_c reported_c warnings",
    ),
    (["setpoint", "--limit", "<60 degC", "--pressure", "95 kPa"], "cup_set_point_c warnings"),
    (
        ["precision", "--method", "d3828-b", "--result", "61 degC", "--result", "61.2 degC"],
        "repeatability_c reproducibility_c difference_c limit_c agree",
    ),
    (["methods", "d3828-b"], "id name low_c high_c specimen_ml confirmed sources"),
    (
        ["conform", "--limit", ">=60 degC", "--result", "61.5 degC", "--uncertainty", "2 degC"],
        "conforms acceptance_limit_c probability_conforming rule",
    ),
]


@pytest.mark.parametrize(("words", "keys"), KEYS, ids=lambda value: str(value)[:40])
def test_a_command_prints_one_object_with_its_keys(command, words, keys):
    status, out, err = command(*words, "--json")
    assert (status, err) == (0, "")
    answer = json.loads(out)
    assert set(keys.split()) <= answer.keys()


def test_components_carry_their_keys(command):
    _, out, _ = command("estimate", "-c", "ethanol=0.3", "-c", "water=0.7", "--json")
    ethanol, water = json.loads(out)["components"]
    assert {"name", "cas", "mole_fraction", "flash_point_c"} <= ethanol.keys()
    assert water["flash_point_c"] is None


def test_classify_prints_one_array(command):
    status, out, _ = command("classify", "--flash", "22.5 degC", "--boils", "78 degC", "--json")
    answers = {answer["regime"]: answer for answer in json.loads(out)}
    assert status == 0
    assert {"GHS", "CLP", "UN class 3", "RCRA", "NFPA 30", "NFPA 704"} <= answers.keys()
    wanted = "regime classification clause edition rule margin_c missing notes sources"
    assert set(wanted.split()) <= answers["GHS"].keys()
    assert answers["UN class 3"]["classification"] == "PG II"
    assert answers["GHS"]["margin_c"] == pytest.approx(-0.5)


REFUSALS = [
    (["estimate", "-c", "ethanol=0.5", "-c", "water=0.4"], 2, "fractions-sum", "0.9"),
    (["estimate", "-c", "ethanol=-0.5", "-c", "water=1.5"], 2, "negative-fraction", "negative"),
    (["estimate", "-c", "etanol=1"], 2, "liquid-unknown", "ethanol"),
    (["estimate", "-c", "water=1"], 3, "no-flash", ""),
    (["estimate", "-c", "dichloromethane=0.2", "-c", "ethanol=0.8"], 3, "masking", ""),
    (["estimate", "-c", "ethanol=1", "--activity", "guess"], 2, "activity-unknown", "unifac"),
    (["correct", "--observed", "60.2", "--pressure", "95 kPa"], 2, "unit-missing", "61.5 degC"),
    (
        ["correct", "--observed", "60 degC", "--pressure", "952 kPa"],
        2,
        "impossible-pressure",
        "hPa",
    ),
    (["setpoint", "--limit", "60 degC", "--pressure", "95 kPa"], 2, "operator-missing", "<60"),
    (["precision", "--method", "d3828-z", "--at", "60 degC"], 2, "method-unknown", "d3828-b"),
    (["precision", "--method", "d7236", "--at", "20 degC"], 3, "outside-precision-range", ""),
    (["classify", "--flash", "-500 degC"], 2, "impossible-temperature", ""),
    (["sample", "S-9999"], 2, "sample-unknown", ""),
    (["nonsense"], 2, "usage", ""),
    (["conform", "--limit", ">=60 degC"], 2, "result-missing", "--laboratory"),
    (["conform", "--limit", "60 degC", "--result", "61 degC"], 2, "operator-missing", ">=60"),
    (
        ["conform", "--limit", ">=60 degC", "--result", "61 degC", "--rule", "fair"],
        2,
        "decision-rule-unknown",
        "guarded",
    ),
    (
        [
            "conform",
            "--limit",
            ">=60 degC",
            "--result",
            "61 degC",
            "--rule",
            "recipient",
            "--method",
            "d93-a",
            "--safety",
        ],
        3,
        "safety-limit-no-tolerance",
        "simple",
    ),
    (
        ["conform", "--limit", ">=60 degC and >=55 degC", "--result", "61 degC"],
        2,
        "limits-same-side",
        "stricter",
    ),
    (
        ["classify", "--flash", "60 degC", "--fire-point", "55 degC"],
        2,
        "contradictory-evidence",
        "",
    ),
]


@pytest.mark.usefixtures("database")
@pytest.mark.parametrize(("words", "status", "kind", "helps"), REFUSALS)
def test_a_refusal_says_what_where_and_how_to_fix_it(command, words, status, kind, helps):
    found, out, _ = command(*words, "--json")
    error = json.loads(out)["error"]
    assert (found, error["kind"]) == (status, kind)
    assert set(error) == {"kind", "what", "where", "fix"}
    assert helps in error["what"] + error["fix"]


@pytest.mark.parametrize(
    "words",
    [
        ["conform", "--limit", ">=60 degC", "--result", "59.9 degC"],
        ["precision", "--method", "d3828-b", "--result", "61 degC", "--result", "63 degC"],
    ],
)
def test_a_check_that_fails_exits_with_4(command, words):
    assert command(*words)[0] == 4


def test_normalising_is_offered_and_done(command):
    _, out, _ = command("estimate", "-c", "ethanol=1", "-c", "octane=1", "--normalise", "--json")
    assert [part["mole_fraction"] for part in json.loads(out)["components"]] == [0.5, 0.5]


def test_help_loads_nothing_heavy():
    import subprocess
    import sys

    code = (
        "import sys; from closedcup.app.entry import run; run(['--help']); "
        "print([name for name in ('numpy', 'scipy', 'sqlalchemy', 'starlette', 'jinja2', 'typst', "
        "'vl_convert') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_help_says_what_each_argument_and_option_is():
    from typer.main import get_command

    from closedcup.app.entry import application

    for name, command in get_command(application).commands.items():
        assert command.help, name
        assert [each.name for each in command.params if not each.help] == [], name
