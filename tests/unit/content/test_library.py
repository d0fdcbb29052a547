"""The library: everything of a content folder, or every fault of every file."""

from datetime import date
from pathlib import Path

import pytest

from quizapp.content.library import check_library, read_library
from quizapp.errors import ContentFaults, NotFound
from tests.sample_families import CHOICE, NUMERIC, READING, make_content_folder

TODAY = date(2026, 1, 1)


def test_a_folder_is_read(tmp_path: Path) -> None:
    library = read_library(make_content_folder(tmp_path))
    assert list(library.families) == ["K98", "K99", "N98", "N99"]
    assert [profile.slug for profile in library.profiles] == ["tv-a-1", "tv-a-2", "tv-b-1"]
    assert library.competencies["C5"].is_critical
    profile = library.profile("TV-A", 1)
    assert [family.code for family in library.families_for(profile, "C5")] == ["K98", "K99", "N98", "N99"]
    assert library.families_for(profile, "C6") == ()
    assert library.draw("N99", profile, 3).seed == 3
    with pytest.raises(NotFound, match=r'There is no family N89 \(did you mean "N9'):
        library.family("N89")
    with pytest.raises(NotFound, match="no device profile TV-A revision 9"):
        library.profile("TV-A", 9)
    with pytest.raises(NotFound, match="no procedure P99"):
        library.procedure("P99")


def test_all_faults_of_all_files_come_at_once(tmp_path: Path) -> None:
    folder = make_content_folder(
        tmp_path,
        n99=NUMERIC.replace('["C5"]', '["C55"]').replace("ARITH", "ARITS"),
        n98=READING.replace("decimals = 0", "decimals = -1"),
    )
    bank = folder / "question_bank"
    (bank / "c5" / "n97-again.md").write_text(CHOICE.replace("K99", "N97").replace("N97", "N98", 0), encoding="utf-8")
    (bank / "c5" / "broken.md").write_text("no front matter", encoding="utf-8")
    (bank / "device_profiles" / "tv-c-1.toml").write_text('code = "TV-C"\nspeed = 3\n', encoding="utf-8")
    (bank / "competencies.toml").write_text("[C5]\ntitel = 3\n[X]\n", encoding="utf-8")
    with pytest.raises(ContentFaults) as caught:
        read_library(folder)
    text = str(caught.value)
    for expected in (
        "c5/broken.md:1: error: the first line must be +++",
        "c5/n98-gauge.md:",
        'c5/n99-volume.md:10: error: "ARITS" is not in question_bank/sources.md (did you mean "ARITH"?)',
        "device_profiles/tv-c-1.toml:2: error: speed",
        'competencies.toml:2: error: "titel" is not a field',
        'competencies.toml:3: error: "X" is not a code such as C1',
    ):
        assert expected in text


def test_references_and_codes(tmp_path: Path) -> None:
    folder = make_content_folder(tmp_path, n99=NUMERIC.replace('["C5"]', '["C6"]'))
    (folder / "question_bank" / "c5" / "k99-again.md").write_text(CHOICE, encoding="utf-8")
    with pytest.raises(ContentFaults) as caught:
        read_library(folder)
    text = str(caught.value)
    assert '"C6" is not a competency (did you mean "C5"?)' in text
    assert "the file belongs into question_bank/c6/" in text
    assert "code K99 is taken by question_bank/c5/k99-again.md" in text


def test_drawing_shows_what_reading_cannot(tmp_path: Path) -> None:
    folder = make_content_folder(
        tmp_path,
        n99=NUMERIC.replace("range = [20, 60]", "range = [20, 40]").replace("2099-12-31", "2025-12-31"),
        n98=READING.replace("The needle stands", "At {needle} the needle stands"),
        k99=CHOICE.replace('key = "case.shut"', "key = true"),
    )
    _, faults = check_library(folder, TODAY)
    text = "\n".join(str(fault) for fault in faults)
    assert "n99-volume.md:1: error: the key leaves its stated range in" in text
    assert "n99-volume.md:1: warning: was to be reviewed by 2025-12-31" in text
    assert "the text alternative gives the answer" in text
    assert "options are the key (inflation, expiration); exactly one must be" in text


def test_kept_and_unnamed_shares_are_reported(tmp_path: Path) -> None:
    near = NUMERIC.replace('formula = "flow"', 'formula = "litres + flow - 10.5"')
    close = near.replace("tolerance = 0.5\n", "tolerance = 6\n")
    always = near.replace("tolerance = 0.5\n", "tolerance = 60\n")
    for text, expected in (
        (NUMERIC, "warning: in 100% of the draws two wrong ideas cannot be told apart"),
        (close, "of the draws can be asked; in the others a wrong idea would be marked right"),
        (always, "error: only 0% of the draws can be asked"),
    ):
        folder = make_content_folder(tmp_path / str(len(list(tmp_path.iterdir()))), n99=text)
        _, faults = check_library(folder, TODAY)
        assert expected in "\n".join(str(fault) for fault in faults)


def test_a_figure_off_its_scale_is_found(tmp_path: Path) -> None:
    folder = make_content_folder(tmp_path, n98=READING.replace('= "needle"\n[figure', '= "needle + 40"\n[figure'))
    _, faults = check_library(folder, TODAY)
    assert "off the scale" in "\n".join(str(fault) for fault in faults)
