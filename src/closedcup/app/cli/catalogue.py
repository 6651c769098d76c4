"""The command that lists the test methods and explains one."""

from typing import Annotated, Any

import typer

from closedcup.app.cli.printing import (
    AsJson,
    print_facts,
    print_json,
    print_list,
    print_rows,
    quantity,
)

_PANEL = "Calculate"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel=_PANEL)(methods)


def methods(
    identifier: Annotated[
        str | None, typer.Argument(metavar="[ID]", help="Explain this one: d3828-b.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List the test methods, or explain one: steps, numbers, precision, editions, cautions."""
    from closedcup.app.usecases.methods.explaining_methods import all_methods, one_method
    from closedcup.app.usecases.methods.methods_on_record import methods_in_use

    lookup = methods_in_use()
    answer: Any = all_methods(lookup) if identifier is None else one_method(identifier, lookup)
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
                "range": _range(each),
                "specimen": " or ".join(f"{one:g}" for one in dict.fromkeys(each["specimen_ml"])),
                "parameters": _standing(each),
            }
            for each in listed
        ],
        [
            ("id", "id"),
            ("name", "method"),
            ("range", "scope"),
            ("specimen", "mL"),
            ("parameters", "parameters"),
        ],
    )


def _standing(each: dict[str, Any]) -> str:
    if not each["guided"]:
        return "not run here"
    return "confirmed" if each["confirmed"] else "unconfirmed"


def _explain(answer: dict[str, Any]) -> None:
    print_facts(
        answer["name"],
        [
            ("id", answer["id"]),
            ("bench guide", answer["procedure"] or "does not run it"),
            ("scope", _range(answer)),
            ("equivalents", ", ".join(answer["equivalents"])),
            ("flash called by", answer["flash_called_by"] if answer["guided"] else None),
            ("repeats", answer["repeats"] if answer["guided"] else None),
            ("parameters", _parameters(answer)),
        ],
    )
    print_list("Not for", answer["not_for"])
    print_list("Steps", [f"{each['text']} ({each['known']})" for each in answer["steps"]])
    print_list(
        "Numbers",
        [
            f"{each['words']}: {quantity(each['value'], each['unit'])} ({each['known']}"
            f"{'; ' + each['clause'] if each['clause'] else ''}) [{each['name']}]"
            for each in answer["numbers"]
        ],
    )
    print_list(
        "Precision", [_precision(rule) for rule in answer["precision"]] or _no_precision(answer)
    )
    print_list("Report", answer["report"])
    print_list(
        "Editions",
        [f"{each['name']}: {each['changed']} ({each['known']})" for each in answer["editions"]],
    )
    if answer["guided"]:
        print_list("Cautions", answer["cautions"])


def _range(answer: dict[str, Any]) -> str:
    low, high = answer["low_c"], answer["high_c"]
    if low is None and high is None:
        return "not on file"
    return f"below {high:g} °C" if low is None else f"{low:g} to {_number(high)} °C"


def _parameters(answer: dict[str, Any]) -> str:
    if not answer["numbers"]:
        return "none on file: its text was not seen"
    if answer["confirmed"]:
        return "confirmed against the laboratory's own copy"
    return f"unconfirmed; check them with: closedcup confirm {answer['id']}"


def _precision(rule: dict[str, Any]) -> str:
    ends = [end for end in (rule["low_c"], rule["high_c"]) if end is not None]
    where = "" if not ends else f" ({_number(rule['low_c'])} to {_number(rule['high_c'])} °C)"
    return (
        f"{', '.join(rule['products'])}: r = {rule['repeatability']}, "
        f"R = {rule['reproducibility'] or 'not stated'}{where} {rule['note']}"
    ).rstrip()


def _no_precision(answer: dict[str, Any]) -> list[str]:
    if not answer["guided"]:
        return []
    if answer["test"] == "flash/no-flash":
        return ["no r and R are stated for flash or no flash"]
    return ["none on file"]


def _number(value: float | None) -> str:
    return "…" if value is None else f"{value:g}"
