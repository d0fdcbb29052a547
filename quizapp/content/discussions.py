"""Reads the guides of structured discussions: one a file, every fault of every file found in one go."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from quizapp.assessment.competencies import Competency
from quizapp.assessment.discussions import SUGGESTED_CUT_FRACTION, DiscussedQuestion, DiscussionGuide
from quizapp.content.family_header import StaffNumber
from quizapp.content.front_matter import Document, parse_document, read_document, suggest, validate
from quizapp.content.markdown_text import body_faults
from quizapp.errors import ContentFault

FOLDER = "discussions"
BAG_WORDS = "ventilate by bag"


def _whole_number_too(value: object) -> object:
    return Decimal(value) if type(value) is int else value


Line = Annotated[str, Field(min_length=1, max_length=600, pattern=r"^\S(.*\S)?$")]
Fraction = Annotated[Decimal, BeforeValidator(_whole_number_too), Field(gt=0, le=1)]


class _Table(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class QuestionHeader(_Table):
    """One question with what a full and a partial answer contain."""

    letter: Annotated[str, Field(pattern=r"^[a-z]$")]
    ask: Line
    full: Line
    partial: Line
    critical: bool = False


class DiscussionHeader(_Table):
    """The whole front matter of a discussion's file."""

    code: Annotated[str, Field(pattern=r"^D[0-9]{2}$")]
    title: Line
    version: Annotated[int, Field(ge=1)]
    competency: Annotated[str, Field(pattern=r"^C[0-9]{1,2}$")]
    minutes: Annotated[int, Field(ge=1, le=120)]
    cut_fraction: Fraction = Decimal(str(SUGGESTED_CUT_FRACTION))
    about_device: bool
    owner: Line
    review_by: date
    sources: Annotated[list[Line], Field(min_length=1)]
    cautions: Annotated[list[Line], Field(min_length=1)]
    authors: list[StaffNumber] = Field(default_factory=list)
    questions: Annotated[list[QuestionHeader], Field(min_length=3, max_length=20)]


def read_discussions(
    folder: Path, *, competencies: dict[str, Competency], known_sources: Collection[str]
) -> tuple[dict[str, DiscussionGuide], list[ContentFault]]:
    """Read every guide of a content folder by code, with all faults; a folder without `discussions/` has none.

    A file with an error gives no guide. Competencies and sources are checked where any are known.
    """
    guides: dict[str, DiscussionGuide] = {}
    faults: list[ContentFault] = []
    for path in sorted((folder / FOLDER).glob("*.md")):
        if path.name == "README.md":
            continue
        document = read_document(folder, path)
        guide, found = _guide(document, competencies, known_sources)
        faults += found
        if guide is not None and guide.code in guides:
            faults.append(
                document.fault(f"code {guide.code} is taken by another file; every one needs its own", "code")
            )
        elif guide is not None:
            guides[guide.code] = guide
    return dict(sorted(guides.items())), faults


def parse_discussion(path: str, raw: bytes) -> tuple[DiscussionGuide | None, list[ContentFault]]:
    """Read one guide from its bytes; `path` is its name relative to the content folder."""
    return _guide(parse_document(path, raw), {}, ())


def _guide(
    document: Document, competencies: dict[str, Competency], known_sources: Collection[str]
) -> tuple[DiscussionGuide | None, list[ContentFault]]:
    header, faults = validate(document, DiscussionHeader)
    if header is None:
        return None, faults
    faults = [*_letters(document, header), *_references(document, header, competencies, known_sources)]
    if not document.body.strip():
        faults.append(document.fault("the case is missing: write below the front matter what is read aloud"))
    faults += [document.fault_in_body(message, line) for line, message in body_faults(document.body)]
    if not any(BAG_WORDS in caution for caution in header.cautions):
        faults.append(document.fault(f'no caution says the way back: "{BAG_WORDS}" is missing', "cautions"))
    return (None if faults else _built(document, header)), faults


def _letters(document: Document, header: DiscussionHeader) -> list[ContentFault]:
    expected = [chr(ord("a") + index) for index in range(len(header.questions))]
    found = [one.letter for one in header.questions]
    if found == expected:
        return []
    return [document.fault(f"the letters of the questions are {', '.join(found)}; write {', '.join(expected)}",
                           "questions")]  # fmt: skip


def _references(
    document: Document,
    header: DiscussionHeader,
    competencies: dict[str, Competency],
    known_sources: Collection[str],
) -> list[ContentFault]:
    faults = [
        document.fault(f'"{code}" is not in question_bank/sources.md{suggest(code, known_sources)}', "sources")
        for code in header.sources
        if known_sources and code not in known_sources
    ]
    if not competencies:
        return faults
    if header.competency not in competencies:
        message = f'"{header.competency}" is not a competency{suggest(header.competency, competencies)}'
        return [*faults, document.fault(message, "competency")]
    if not competencies[header.competency].is_discussed:
        message = f"{header.competency} takes no discussion as evidence; competencies.toml would have to say discussed"
        faults.append(document.fault(message, "competency"))
    return faults


def _built(document: Document, header: DiscussionHeader) -> DiscussionGuide:
    return DiscussionGuide(
        code=header.code,
        title=header.title,
        version=header.version,
        competency=header.competency,
        minutes=header.minutes,
        cut_fraction=float(header.cut_fraction),
        is_about_device=header.about_device,
        owner=header.owner,
        review_by=header.review_by,
        sources=tuple(header.sources),
        cautions=tuple(header.cautions),
        questions=tuple(
            DiscussedQuestion(
                letter=one.letter, ask=one.ask, full=one.full, partial=one.partial, is_critical=one.critical
            )
            for one in header.questions
        ),
        case=document.body.strip(),
        authors=tuple(header.authors),
        content_hash=document.content_hash,
    )
