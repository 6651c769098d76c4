"""What the documents say of the program is there: links, commands, dependencies."""

import re
import shlex
import tomllib
from pathlib import Path

import pytest

from closedcup.app.entry import application, run

ROOT = Path(__file__).parents[1]
PAGES = sorted([*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md")])
COMMANDS = {
    each.name or each.callback.__name__.replace("_", "-")
    for each in application.registered_commands
}


def text_of(page):
    return page.read_text(encoding="utf-8")


def part_of_readme(begins, ends):
    return text_of(ROOT / "README.md").split(begins)[1].split(ends)[0]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_lead_somewhere_and_commands_exist(page):
    links = re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", text_of(page))
    assert [link for link in links if not (page.parent / link).exists()] == []
    named = re.findall(r"(?:`|^    )closedcup ([a-z][a-z-]+)", text_of(page), re.MULTILINE)
    assert set(named) <= COMMANDS


def test_the_readme_says_what_each_command_is_for():
    named = re.findall(r"`([a-z][a-z-]+)`", part_of_readme("## Which command", "\n## "))
    assert set(named) == COMMANDS
    assert len(named) == len(COMMANDS)


EXAMPLES = part_of_readme("Questions that need no records:", "closedcup validation")


@pytest.mark.parametrize("line", re.findall(r"^    closedcup (.+)$", EXAMPLES, re.MULTILINE))
def test_the_first_questions_are_answered(line, capsys):
    assert run([*shlex.split(line), "--json"]) == 0
    assert capsys.readouterr().err == ""


def test_each_decision_is_in_the_index():
    folder = ROOT / "docs" / "decisions"
    pages = {page.name for page in folder.glob("*.md")} - {"README.md"}
    assert set(re.findall(r"\]\(([a-z-]+\.md)\)", text_of(folder / "README.md"))) == pages


def test_each_dependency_has_its_reason():
    project = tomllib.loads(text_of(ROOT / "pyproject.toml"))["project"]
    wanted = [*project["dependencies"]]
    for extra in project["optional-dependencies"].values():
        wanted += extra
    page = text_of(ROOT / "docs" / "dependencies.md")
    names = {re.split(r"[\[>=<~]", each)[0] for each in wanted}
    assert {name for name in names if not re.search(rf"\b{name}\b", page)} == set()
