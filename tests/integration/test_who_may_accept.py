"""Nobody accepts what they wrote, and nothing is accepted that can hardly be asked."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from quizapp.content.library import Library, read_library
from quizapp.errors import BadInput, NotAllowed
from quizapp.services.accept_content import accept_content, accepted_hashes, content_states
from quizapp.store.people import Person
from tests.sample_families import NUMERIC, ORDER, make_content_folder
from tests.small_service import SmallService


def accept(small: SmallService, library: Library, code: str) -> None:
    with small.acting("cleo") as act:
        accept_content(act, library, wanted=[("family", code, library.family(code).content_hash)], local_changes="")


def staff_number(small: SmallService, name: str) -> str:
    with small.database.reading() as session:
        return session.get_one(Person, small.person_id(name)).staff_number


def written_by(folder: Path, *numbers: str) -> Library:
    """The sample families, one of them written by these people."""
    line = f"authors = [{', '.join(repr(number) for number in numbers)}]\n".replace("'", '"')
    return read_library(make_content_folder(folder, n99=NUMERIC.replace("review_by", line + "review_by", 1)))


@pytest.mark.parametrize("spelt", [str.upper, str.lower])
def test_nobody_accepts_what_they_wrote(small: SmallService, tmp_path: Path, spelt: Callable[[str], str]) -> None:
    library = written_by(tmp_path, staff_number(small, "ines"), spelt(staff_number(small, "cleo")))
    with pytest.raises(NotAllowed, match=r"N99: Cleo wrote this content. Another clinical lead has to accept it."):
        accept(small, library, "N99")
    with small.acting("cleo") as act:
        own = {state.item.code for state in content_states(act, library) if state.is_own}
    assert own == {"N99"}
    accept(small, library, "K98")
    with small.database.reading() as session:
        assert accepted_hashes(session) == {library.family("K98").content_hash}


def test_what_others_wrote_is_accepted(small: SmallService, tmp_path: Path) -> None:
    library = written_by(tmp_path, staff_number(small, "ines"), "S-9999")
    accept(small, library, "N99")
    with small.database.reading() as session:
        assert accepted_hashes(session) == {library.family("N99").content_hash}


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ('formula = "2 * litres"', 'formula = "litres + 0.1"', "only 0% of the draws can be asked"),
        ('where = "flow != 13"', 'where = "flow > 20"', "`where` holds for only 0 of"),
    ],
)
def test_what_can_hardly_be_asked_is_not_accepted(
    small: SmallService, tmp_path: Path, old: str, new: str, why: str
) -> None:
    library = read_library(make_content_folder(tmp_path, n99=NUMERIC.replace(old, new)))
    with pytest.raises(BadInput, match=f"N99: {why}"):
        accept(small, library, "N99")
    with small.database.reading() as session:
        assert accepted_hashes(session) == frozenset()


def test_an_order_that_suits_no_device_is_not_accepted(small: SmallService, tmp_path: Path) -> None:
    nowhere = ORDER.replace("\nuse =", '\nrequires = "profile.peak_max_cmh2o > 900"\nuse =')
    library = read_library(make_content_folder(tmp_path, k98=nowhere))
    with pytest.raises(BadInput, match="it suits none of the device profiles"):
        accept(small, library, "K98")
