"""Every command, page and test that the page of clauses names exists."""

import re
from pathlib import Path

import pytest
import typer.main
from starlette.routing import compile_path

from closedcup.app.cli.application import application
from closedcup.app.web.application import _PAGES

ROOT = Path(__file__).parents[2]
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in (ROOT / "docs" / "iso-17025.md").read_text(encoding="utf-8").splitlines()
    if re.match(r"\| \d", line)
]


def named(cell: str) -> list[str]:
    return re.findall(r"`([^`]+)`", cell)


@pytest.mark.parametrize("row", ROWS, ids=[row[0] for row in ROWS])
def test_what_a_clause_names_exists(row):
    _, served, commands, pages, tests, _ = row
    known = typer.main.get_command(application).commands
    assert set(named(commands)) <= known.keys()
    shown = [compile_path(address)[0] for method, address, _ in _PAGES if method == "GET"]
    assert [each for each in named(pages) if not any(map_.match(each) for map_ in shown)] == []
    assert [each for each in named(tests) if not (ROOT / each).is_file()] == []
    assert named(tests) or served.startswith("no")


def test_every_clause_of_the_three_chapters_that_touches_the_program_has_a_row():
    told = " ".join(row[0] for row in ROWS)
    wanted = [f"6.{n}" for n in range(2, 7)] + [f"7.{n}" for n in range(1, 12)]
    wanted += [f"8.{n}" for n in range(2, 10)]
    assert [clause for clause in wanted if clause not in told] == []
