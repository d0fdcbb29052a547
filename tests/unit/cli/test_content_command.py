"""`quizapp content`: faults with file and line and status 1; questions as an author wants to see them."""

from pathlib import Path

import pytest

from quizapp.assessment.questions import Question
from quizapp.cli import main
from tests.sample_families import CHECKOUT, NUMERIC, READING, make_content_folder

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    made = make_content_folder(tmp_path / "content")
    monkeypatch.setenv("QUIZAPP_CONTENT", str(made))
    return made


def test_check_of_a_good_folder(folder: Path, capsys: Capture) -> None:
    assert main(["content", "check"]) == 0
    shown = capsys.readouterr()
    assert "warning: in 100% of the draws two wrong ideas cannot be told apart" in shown.out
    assert "4 families, 0 checklists, 0 discussions, 3 device profiles" in shown.err
    assert "0 errors" in shown.err


def test_check_reports_both_shares_of_each_family_that_asks_for_numbers(folder: Path, capsys: Capture) -> None:
    """The sample: every fifth draw of the gauge stands on its numeral, and two ideas of the volume are one."""
    assert main(["content", "check"]) == 0
    assert "of the draws kept" not in capsys.readouterr().out
    assert main(["content", "check", "--shares"]) == 0
    lines = [line for line in capsys.readouterr().out.splitlines() if "of the draws kept" in line]
    assert [line.split()[0] for line in lines] == ["N98", "N99"]
    assert "N99 A title: 100% of the draws kept" in lines[1]
    assert "two wrong ideas on one number in 100% of these" in lines[1]


def test_check_names_all_faults_of_all_files_and_fails(tmp_path: Path, capsys: Capture) -> None:
    broken = make_content_folder(
        tmp_path, n99=NUMERIC.replace("step = 0.5", "step = 0"), n98=READING.replace("pressure_gauge", "dial")
    )
    assert main(["content", "check", str(broken)]) == 1
    out = capsys.readouterr().out
    assert "question_bank/c5/n99-volume.md:16: error: draw flow step: must be above zero; found 0" in out
    assert 'question_bank/c5/n98-gauge.md:53: error: figure 1: "dial" is not an instrument' in out


def test_check_of_the_checkout(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    monkeypatch.delenv("QUIZAPP_CONTENT", raising=False)
    assert main(["content", "check"]) == 0
    assert str(CHECKOUT) in capsys.readouterr().err


def test_draw_shows_what_an_author_needs(folder: Path, capsys: Capture) -> None:
    assert main(["content", "draw", "n99", "--seed", "4", "--count", "2"]) == 0
    out = capsys.readouterr().out
    for expected in (
        "seed 4, TV-A revision 1",
        "seed 5,",
        "flow = ",
        "L/min",
        "Gas runs at",
        "tolerance ±",
        "doubled: ",
    ):
        assert expected in out
    assert "dangerous when too high" in out
    assert main(["content", "draw", "K99"]) == 0
    assert "[key]" in capsys.readouterr().out
    assert main(["content", "draw", "K98"]) == 0
    assert "(after search)" in capsys.readouterr().out


def test_draw_as_json_and_for_another_profile(folder: Path, capsys: Capture) -> None:
    assert main(["content", "draw", "N99", "--json", "--count", "3", "--profile", "TV-B-1"]) == 0
    lines = capsys.readouterr().out.splitlines()
    questions = [Question.from_json(line) for line in lines]
    assert [question.seed for question in questions] == [0, 1, 2]
    assert {question.profile_code for question in questions} == {"TV-B"}


def test_an_unknown_family_or_profile_gets_a_suggestion(folder: Path, capsys: Capture) -> None:
    assert main(["content", "draw", "N89"]) == 2
    assert '(did you mean "N9' in capsys.readouterr().err
    assert main(["content", "draw", "N99", "--profile", "TV-A-9"]) == 2
    assert "There is no device profile TV-A-9" in capsys.readouterr().err


@pytest.mark.parametrize("words", [["--count", "0"], ["--seed", "-1"], ["--seed", "٣"], ["--count", "many"]])
def test_odd_numbers_are_not_understood(folder: Path, words: list[str], capsys: Capture) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["content", "draw", "N99", *words])
    assert caught.value.code == 2
    assert "is not" in capsys.readouterr().err or words[1] == "-1"


def test_draw_from_a_broken_folder_names_the_faults(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    broken = make_content_folder(tmp_path / "b", n99="nothing")
    monkeypatch.setenv("QUIZAPP_CONTENT", str(broken))
    assert main(["content", "draw", "N98"]) == 1
    assert "n99-volume.md:1: error: the first line must be +++" in capsys.readouterr().err


def test_a_missing_folder_says_what_to_set(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    monkeypatch.setenv("QUIZAPP_CONTENT", str(tmp_path / "nowhere"))
    assert main(["content", "check"]) == 1
    assert "QUIZAPP_CONTENT" in capsys.readouterr().err
