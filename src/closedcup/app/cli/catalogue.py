"""The command that lists the test methods and explains one."""

from typing import Annotated, Any

import typer

from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_list, print_rows

_PANEL = "Calculate"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel=_PANEL)(methods)


def methods(
    identifier: Annotated[str | None, typer.Argument(metavar="[ID]")] = None,
    as_json: AsJson = False,
) -> None:
    """List the test methods, or explain one: steps, numbers, precision, editions, cautions."""
    from closedcup.app.usecases.calculating import all_methods, one_method

    answer: Any = all_methods() if identifier is None else one_method(identifier)
    if as_json:
        print_json(answer)
    elif identifier is None:
        _list(answer)
    else:
        _explain(answer)


def _list(listed: list[dict[str, Any]]) -> None:
    print_rows(
        [
            {
                **each,
                "range": f"{_number(each['low_c'])} to {_number(each['high_c'])} °C",
                "guide": "yes" if each["guided"] else "no",
                "specimen": " or ".join(f"{one:g}" for one in dict.fromkeys(each["specimen_ml"])),
            }
            for each in listed
        ],
        [
            ("id", "id"),
            ("name", "method"),
            ("test", "test"),
            ("range", "range"),
            ("specimen", "mL"),
            ("guide", "bench guide"),
        ],
    )


def _explain(answer: dict[str, Any]) -> None:
    low, high = _number(answer["low_c"]), _number(answer["high_c"])
    print_facts(
        answer["name"],
        [
            ("id", answer["id"]),
            ("bench guide", answer["procedure"] or "does not run it"),
            ("scope", f"{low} to {high} °C, corrected to 101.3 kPa"),
            ("equivalents", ", ".join(answer["equivalents"])),
            ("flash called by", answer["flash_called_by"]),
            ("repeats", answer["repeats"]),
            ("parameters", f"unconfirmed as shipped: closedcup confirm {answer['id']}"),
        ],
    )
    print_list("Steps", [f"{each['text']} ({each['known']})" for each in answer["steps"]])
    print_list(
        "Numbers",
        [
            f"{each['words']}: {each['value']:g} {each['unit']} ({each['known']}"
            f"{'; ' + each['clause'] if each['clause'] else ''}) [{each['name']}]"
            for each in answer["numbers"]
        ],
    )
    print_list(
        "Precision",
        [
            f"{', '.join(rule['products'])}: r = {rule['repeatability']}, "
            f"R = {rule['reproducibility'] or 'not stated'}"
            f" ({_number(rule['low_c'])} to {_number(rule['high_c'])} °C) {rule['note']}".rstrip()
            for rule in answer["precision"]
        ],
    )
    print_list("Not for", answer["not_for"])
    print_list("Report", answer["report"])
    print_list(
        "Editions",
        [f"{each['name']}: {each['changed']} ({each['known']})" for each in answer["editions"]],
    )
    print_list("Cautions", answer["cautions"])


def _number(value: float | None) -> str:
    return "…" if value is None else f"{value:g}"
