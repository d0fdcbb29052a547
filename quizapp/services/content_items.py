"""What a clinical lead can accept: families, procedures, guides of structured discussions, device profiles."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from quizapp.assessment.discussions import DiscussionGuide
from quizapp.assessment.families import Family
from quizapp.assessment.procedures import Procedure
from quizapp.content.library import Library


class ContentKind(StrEnum):
    """What a content file is."""

    FAMILY = "family"
    PROCEDURE = "procedure"
    PROFILE = "profile"
    DISCUSSION = "discussion"

    @property
    def words(self) -> str:
        """The kind as people say it."""
        return "device profile" if self is ContentKind.PROFILE else self.value


@dataclass(frozen=True, kw_only=True)
class ContentItem:
    """One file as it stands in the folder now: its kind, code, title, hash, and the steps of a procedure.

    `authors`: the staff numbers of those who wrote it, none for what came with the tool.
    """

    kind: ContentKind
    code: str
    title: str
    content_hash: str
    competencies: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    authors: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """Kind and code, as the audit trail says it."""
        return f"{self.kind.words} {self.code}"


def content_items(library: Library) -> tuple[ContentItem, ...]:
    """Return every item: procedures, discussions, device profiles, then families, each by code."""
    profiles = [
        ContentItem(
            kind=ContentKind.PROFILE,
            code=slug,
            title=f"{file.profile.name}, {file.profile.label}",
            content_hash=file.content_hash,
        )
        for slug, file in sorted(library.profile_files.items())
    ]
    return (
        *(_procedure(one) for _, one in sorted(library.procedures.items())),
        *(_discussion(one) for one in library.discussions.values()),
        *profiles,
        *(_family(one) for _, one in sorted(library.families.items())),
    )


def _procedure(one: Procedure) -> ContentItem:
    return ContentItem(
        kind=ContentKind.PROCEDURE,
        code=one.code,
        title=one.title,
        content_hash=one.content_hash,
        competencies=one.competencies,
        steps=one.letters,
        authors=one.authors,
    )


def _discussion(one: DiscussionGuide) -> ContentItem:
    return ContentItem(
        kind=ContentKind.DISCUSSION,
        code=one.code,
        title=one.title,
        content_hash=one.content_hash,
        competencies=(one.competency,),
        authors=one.authors,
    )


def _family(one: Family) -> ContentItem:
    return ContentItem(
        kind=ContentKind.FAMILY,
        code=one.code,
        title=one.title,
        content_hash=one.content_hash,
        competencies=one.competencies,
        authors=one.authors,
    )
