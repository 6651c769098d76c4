"""Write docs/rights.md: who may do what, from the table of rights and from the use-cases' own code.

    python tools/rights_page.py

Which rights a use-case asks for is read from its source: the kinds of event that it and what it
calls record (`opened.record("…")`), and what it permits (`opened.permit("…")`). A test compares
the page with the code, and lets every role try.
"""

import ast
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from closedcup.laboratory.people import ROLES
from closedcup.laboratory.rights import rights, roles_with
from closedcup.records.folding import EVENT_OF_MOVE

ROOT = Path(__file__).resolve().parents[1]
FOLDER = ROOT / "src" / "closedcup" / "app" / "usecases"
PAGE = ROOT / "docs" / "rights.md"
_PACKAGE = "closedcup.app.usecases"
_MOVES = {move.__name__: kind for move, kind in EVENT_OF_MOVE.items()}

Name = tuple[str, str]
NO_SIGN_IN: frozenset[Name] = frozenset(
    {
        ("people.signing_in", "sign_in"),
        ("people.signing_in", "prove"),
        ("people.signing_in", "resume"),
        ("people.signing_in", "sign_out"),
        ("people.signing_in", "known_words"),
        ("people.accounts", "recover_account"),
        ("records.keeping", "move"),
        ("records.keeping", "take_backup"),
        ("records.records", "check_records"),
        ("records.records", "refuse_damaged"),
        ("records.records", "make_index_again"),
        ("records.records", "note_damage"),
        ("records.backups", "act_as_console"),
        ("records.backups", "note_backup_failed"),
        ("records.backups", "record_backup"),
        ("records.backups", "record_rehearsal"),
        ("nonconforming.failures", "note_found"),
    }
)
"""What can be done without signing in: to sign in, and what takes the records themselves.

What the program finds (`note_found`) asks for the right too, and answers why it has none.
"""


@dataclass
class Function:
    """A function of a use-case module: whether it has the laboratory open, what it asks for."""

    takes_laboratory: bool
    rights: set[str] = field(default_factory=set)
    calls: set[Name] = field(default_factory=set)
    moves: set[str] = field(default_factory=set)
    records_moves: bool = False


def use_cases() -> dict[Name, Function]:
    """Return every public function that has the laboratory open, with all rights it asks for."""
    found = dict(_functions())
    _spread(found)
    return {
        name: function
        for name, function in sorted(found.items())
        if function.takes_laboratory and not name[1].startswith("_")
    }


def _functions() -> Iterator[tuple[Name, Function]]:
    modules = {
        ".".join(file.relative_to(FOLDER).with_suffix("").parts): ast.parse(file.read_text())
        for file in sorted(FOLDER.rglob("*.py"))
    }
    for module, tree in modules.items():
        known = _imported(tree) | {
            node.name: (module, node.name)
            for node in tree.body
            if isinstance(node, ast.FunctionDef)
        }
        for node in tree.body:
            if isinstance(node, ast.FunctionDef):
                yield (module, node.name), _read(node, known | _imported(node))


def _imported(tree: ast.AST) -> dict[str, Name]:
    """Return what local names stand for: (module, function), or (module, "") for a module."""
    found: dict[str, Name] = {}
    for node in ast.walk(tree):
        if not isinstance(node, ast.ImportFrom) or not (node.module or "").startswith(_PACKAGE):
            continue
        module = (node.module or "")[len(_PACKAGE) + 1 :]
        for each in node.names:
            path = [*filter(None, module.split(".")), each.name]
            is_module = FOLDER.joinpath(*path).with_suffix(".py").exists()
            found[each.asname or each.name] = (
                (".".join(path), "") if is_module else (module, each.name)
            )
    return found


def _read(node: ast.FunctionDef, known: dict[str, Name]) -> Function:
    arguments = [*node.args.args, *node.args.kwonlyargs]
    function = Function(
        takes_laboratory=any(
            each.annotation is not None and "OpenLaboratory" in ast.unparse(each.annotation)
            for each in arguments
        ),
    )
    for part in ast.walk(node):
        if isinstance(part, ast.Name) and part.id in known and known[part.id][1]:
            function.calls.add(known[part.id])
        if isinstance(part, ast.Attribute) and isinstance(part.value, ast.Name):
            module, is_function = known.get(part.value.id, ("", "-"))
            if not is_function:
                function.calls.add((module, part.attr))
        if isinstance(part, ast.Call):
            _read_call(function, part, node)
    return function


def _read_call(function: Function, call: ast.Call, within: ast.FunctionDef) -> None:
    if isinstance(call.func, ast.Name) and call.func.id in _MOVES:
        function.moves.add(call.func.id)
    called = ast.unparse(call.func).rpartition(".")[2]
    if called not in {"record", "permit", "Entered", "Entry"} or not call.args:
        return
    asked = call.args[0]
    if isinstance(asked, ast.Name):  # named above: kind = "a" if … else "b"
        values = [
            each.value
            for each in ast.walk(within)
            if isinstance(each, ast.Assign) and ast.unparse(each.targets[0]) == asked.id
        ]
    else:
        values = [asked]
    for value in values:
        if "EVENT_OF_MOVE" in ast.unparse(value):
            function.records_moves = True
        function.rights |= {
            part.value
            for part in ast.walk(value)
            if isinstance(part, ast.Constant) and str(part.value) in rights()
        }
        if isinstance(value, ast.Constant) and value.value not in rights():
            function.rights.add(str(value.value))


def _spread(found: dict[Name, Function]) -> None:
    """Let each function ask for what the functions that it calls ask for."""
    for function in found.values():
        if any(call in found and found[call].records_moves for call in function.calls):
            function.rights |= {_MOVES[move] for move in function.moves}
    changed = True
    while changed:
        changed = False
        for function in found.values():
            for call in function.calls & found.keys():
                if not found[call].rights <= function.rights:
                    function.rights |= found[call].rights
                    changed = True


def asked_for(function: Function) -> frozenset[str]:
    """Return the rights that a use-case asks for; one that records nothing is only read."""
    return frozenset(function.rights) or frozenset({"records-read"})


def page() -> str:
    """Return the page."""
    lines = [
        "# Who may do what",
        "",
        "Generated by `python tools/rights_page.py`; a test fails when it is not current. This",
        "holds once the laboratory has accounts; until then everybody at this PC is trusted.",
        "Whoever is not signed in looks at nothing and records nothing. A person may have several",
        "roles.",
        "",
        "## Rights",
        "",
        f"| Right | What | {' | '.join(ROLES)} |",
        f"|---|---|{'---|' * len(ROLES)}",
    ]
    for right in rights().values():
        marks = " | ".join("yes" if role in right.roles else "" for role in ROLES)
        lines.append(f"| `{right.name}` | {right.what} | {marks} |")
    found = use_cases()
    asking = {name: each for name, each in found.items() if each.rights and name not in NO_SIGN_IN}
    lines += [
        "",
        "## Every use-case by every role",
        "",
        "“part”: the role has some of the rights that the use-case may ask for, not all; what it",
        "lacks is refused when it comes to it.",
        "",
        f"| Use-case | Rights | {' | '.join(ROLES)} |",
        f"|---|---|{'---|' * len(ROLES)}",
    ]
    for name, function in asking.items():
        asked = sorted(asked_for(function))
        marks = " | ".join(answer(role, asked) for role in ROLES)
        words = ", ".join(f"`{right}`" for right in asked)
        lines.append(f"| {'.'.join(name)} | {words} | {marks} |")
    lines += ["", "Every role may use what only looks (`records-read`):", ""]
    looking = [name for name in found if name not in asking and name not in NO_SIGN_IN]
    lines += [f"- {'.'.join(name)}" for name in looking]
    lines += [
        "",
        "Without signing in, since they let one in, or take the records themselves (whoever holds",
        "the file or the database holds everything; see [people](decisions/people.md)):",
        "",
    ]
    lines += [f"- {'.'.join(name)}" for name in sorted(NO_SIGN_IN)]
    return "\n".join(lines) + "\n"


def answer(role: str, asked: list[str]) -> str:
    """Say whether a role has the rights asked for: yes, part or none of them."""
    has = [role in roles_with(right) for right in asked]
    return "yes" if all(has) else "part" if any(has) else ""


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
