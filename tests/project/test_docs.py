"""The guides are checked like code: commands, settings, packages, decisions and links are there and true."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from quizapp.cli import build_parser
from tests.project import checkout_files as project

GUIDES = ["README.md", "DEVELOPERS.md"]
SETTING = re.compile(r"\bQUIZAPP_[A-Z_]+\b")
LINK = re.compile(r"\]\((?!https?:)([^)#]+)")


def guide(name: str) -> str:
    return (project.CHECKOUT / name).read_text(encoding="utf-8")


def one_line(text: str) -> str:
    """A text with its line breaks and quotation marks of quoted blocks taken out."""
    return " ".join(text.replace("\n> ", " ").split())


def settings_read(*files: Path) -> set[str]:
    return {name for path in files for name in SETTING.findall((project.CHECKOUT / path).read_text(encoding="utf-8"))}


def packages() -> list[str]:
    folder = project.CHECKOUT / "quizapp"
    return sorted(path.parent.name for path in folder.glob("*/__init__.py"))


def decisions() -> list[Path]:
    return sorted((project.CHECKOUT / "docs" / "decisions").glob("*.md"))


@pytest.mark.parametrize("command", ["python3 dev.py demo", "python3 dev.py test"])
def test_the_readme_has_the_two_commands(command: str) -> None:
    assert f"\n{command}\n" in guide("README.md")


def test_the_readme_begins_with_the_job_and_carries_the_caution() -> None:
    from quizapp.web.page_context import CAUTION

    first_paragraph = guide("README.md").split("\n\n")[1]
    assert "ventilator" in first_paragraph
    assert len(first_paragraph.split()) > 80
    assert one_line(CAUTION) in one_line(guide("README.md"))


def test_every_command_of_the_program_is_shown_as_it_is_typed() -> None:
    parser = build_parser()
    commands = next(action.choices for action in parser._actions if action.dest == "command")
    assert commands is not None
    shown = guide("README.md") + guide("DEVELOPERS.md")
    assert [name for name in commands if not re.search(rf"(dev\.py|quizapp) {name}\b", shown)] == []
    for line in re.findall(r"python -m quizapp (\S+)", shown):
        assert line.rstrip("`") in commands, line


def test_every_setting_is_explained() -> None:
    read_by_the_service = settings_read(*project.python_files("quizapp"))
    explained = set(SETTING.findall(guide("README.md")))
    assert read_by_the_service
    assert read_by_the_service == explained
    read_by_the_tests = settings_read(Path("dev.py"), Path("tests/needed.py"))
    assert read_by_the_tests <= set(SETTING.findall(guide("DEVELOPERS.md")))


def test_every_package_is_on_the_map() -> None:
    assert len(packages()) > 5
    assert [name for name in packages() if f"| `quizapp/{name}/` |" not in guide("DEVELOPERS.md")] == []


def test_every_decision_is_listed_and_has_its_three_parts() -> None:
    assert len(decisions()) >= 7
    for path in decisions():
        headings = re.findall(r"^## (.+)$", path.read_text(encoding="utf-8"), re.MULTILINE)
        assert headings == ["Context", "Decision", "Consequences"], path.name
        assert f"(docs/decisions/{path.name})" in guide("DEVELOPERS.md"), path.name


def test_decisions_are_numbered_without_gaps() -> None:
    assert [int(path.name[:4]) for path in decisions()] == list(range(1, len(decisions()) + 1))


@pytest.mark.parametrize("name", GUIDES)
def test_links_and_named_files_exist(name: str) -> None:
    text = guide(name)
    named = re.findall(r"`((?:quizapp|tests|docs|requirements|question_bank|checklists)/[\w./-]+)`", text)
    wanted = {*LINK.findall(text), *named}
    assert wanted
    assert sorted(path for path in wanted if not (project.CHECKOUT / path).exists()) == []
