"""Everything the content folder holds, read once: families, device profiles, competencies, procedures and sources."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from quizapp.assessment.competencies import Competency
from quizapp.assessment.discussions import DiscussionGuide
from quizapp.assessment.families import Family
from quizapp.assessment.procedures import Procedure
from quizapp.assessment.profile_values import other_profile_for, suits
from quizapp.assessment.question_generator import draw_question
from quizapp.assessment.questions import Question
from quizapp.content.competencies import read_competencies
from quizapp.content.discussions import read_discussions
from quizapp.content.families import read_family
from quizapp.content.family_draws import draw_faults
from quizapp.content.front_matter import Document, read_document, suggest
from quizapp.content.procedures import read_procedures
from quizapp.content.profiles import ProfileFile, read_profiles
from quizapp.content.sources import read_sources
from quizapp.errors import ContentFault, ContentFaults, NotFound
from quizapp.ventilation.device_profile import DeviceProfile

BANK = "question_bank"
NOT_FAMILIES = frozenset({"README.md", "sources.md"})
MOST_FILES = 2000

Named = Callable[[str], bool]


@dataclass(frozen=True, kw_only=True)
class Library:
    """The content of one folder. Families and procedures stand under their codes, profiles under slugs."""

    folder: Path
    families: Mapping[str, Family]
    profile_files: Mapping[str, ProfileFile]
    competencies: Mapping[str, Competency]
    procedures: Mapping[str, Procedure]
    sources: Mapping[str, str]
    warnings: tuple[ContentFault, ...] = ()
    discussions: Mapping[str, DiscussionGuide] = field(default_factory=dict)

    @property
    def profiles(self) -> tuple[DeviceProfile, ...]:
        """All device profiles, by code and revision."""
        found = (file.profile for file in self.profile_files.values())
        return tuple(sorted(found, key=lambda profile: (profile.code, profile.revision)))

    def family(self, code: str) -> Family:
        """Return a family by its code; raises NotFound with the nearest code."""
        if code not in self.families:
            raise NotFound(f"There is no family {code}{suggest(code, self.families)}.")
        return self.families[code]

    def profile(self, code: str, revision: int) -> DeviceProfile:
        """Return one revision of a device profile; raises NotFound."""
        slug = f"{code}-{revision}".lower()
        if slug not in self.profile_files:
            raise NotFound(f"There is no device profile {code} revision {revision}.")
        return self.profile_files[slug].profile

    def procedure(self, code: str) -> Procedure:
        """Return a procedure by its code; raises NotFound with the nearest code."""
        if code not in self.procedures:
            raise NotFound(f"There is no procedure {code}{suggest(code, self.procedures)}.")
        return self.procedures[code]

    def discussion(self, code: str) -> DiscussionGuide:
        """Return the guide of a structured discussion by its code; raises NotFound with the nearest code."""
        if code not in self.discussions:
            raise NotFound(f"There is no discussion {code}{suggest(code, self.discussions)}.")
        return self.discussions[code]

    def families_for(self, profile: DeviceProfile, competency: str = "") -> tuple[Family, ...]:
        """Return the families that can be asked about a device, by code; of one competency if given."""
        wanted = (family for code, family in sorted(self.families.items()) if suits(family, profile))
        return tuple(family for family in wanted if not competency or competency in family.competencies)

    def draw(self, code: str, profile: DeviceProfile, seed: int, unlike: tuple[Question, ...] = ()) -> Question:
        """Draw a question of a family for a device; `unlike` as in `draw_question`. Raises NotFound or DrawFault."""
        family = self.family(code)
        other = other_profile_for(family, profile, self.profiles) if family.other_profile_fields else None
        return draw_question(family, profile, seed, other_profile=other, unlike=unlike)


def read_library(folder: Path) -> Library:
    """Read the content folder (which holds question_bank and checklists).

    Raises ContentFaults with every error of every file; warnings stand in the library. Nothing is drawn.
    """
    library, faults = _read(folder)
    errors = [fault for fault in faults if fault.level == "error"]
    if errors:
        raise ContentFaults(errors)
    return library


def check_library(folder: Path, today: date) -> tuple[Library, list[ContentFault]]:
    """Read the folder and draw from every family; returns all errors and warnings, sorted by file and line."""
    library, faults = _read(folder)
    for family in library.families.values():
        if library.profile_files:
            faults += draw_faults(family, library.profiles)
        if family.review_by < today:
            message = f"was to be reviewed by {family.review_by.isoformat()}"
            faults.append(ContentFault(path=family.path, line=1, message=message, level="warning"))
    return library, sorted(faults)


def _read(folder: Path) -> tuple[Library, list[ContentFault]]:
    competencies, faults = read_competencies(folder)
    profiles, profile_faults = read_profiles(folder)
    sources, source_faults = read_sources(folder)
    procedures, procedure_faults = read_procedures(
        folder,
        known_competencies=competencies or None,
        known_sources=sources or None,
        known_profiles=[file.profile for file in profiles.values()],
    )
    families, family_faults = _read_families(folder, competencies, sources)
    discussions, discussion_faults = read_discussions(folder, competencies=competencies, known_sources=sources)
    faults += [*profile_faults, *source_faults, *procedure_faults, *family_faults, *discussion_faults]
    library = Library(
        folder=folder,
        families=families,
        profile_files=profiles,
        competencies=competencies,
        procedures={procedure.code: procedure for procedure in procedures},
        sources=sources,
        warnings=tuple(sorted(fault for fault in faults if fault.level != "error")),
        discussions=discussions,
    )
    return library, faults


def _read_families(
    folder: Path, competencies: Mapping[str, Competency], sources: Mapping[str, str]
) -> tuple[dict[str, Family], list[ContentFault]]:
    families: dict[str, Family] = {}
    faults: list[ContentFault] = []
    paths = sorted(path for path in (folder / BANK).rglob("*.md") if path.name not in NOT_FAMILIES)
    if len(paths) > MOST_FILES:
        message = f"holds {len(paths)} family files; at most {MOST_FILES} are read"
        return {}, [ContentFault(path=BANK, line=0, message=message)]
    for path in paths:
        document = read_document(folder, path)
        family, found = read_family(document)
        faults += found
        if family is None:
            continue
        faults += _references(family, document, competencies, sources)
        if family.code in families:
            message = f"code {family.code} is taken by {families[family.code].path}; every family needs its own"
            faults.append(document.fault(message, "code"))
        families.setdefault(family.code, family)
    return dict(sorted(families.items())), faults


def _references(
    family: Family, document: Document, competencies: Mapping[str, Competency], sources: Mapping[str, str]
) -> list[ContentFault]:
    faults = [
        document.fault(f'"{code}" is not a competency{suggest(code, competencies)}', "competencies")
        for code in family.competencies
        if competencies and code not in competencies
    ]
    faults += [
        document.fault(f'"{code}" is not in question_bank/sources.md{suggest(code, sources)}', "sources")
        for code in family.sources
        if sources and code not in sources
    ]
    wanted = f"{BANK}/{family.competencies[0].lower()}/"
    if not family.path.startswith(wanted):
        faults.append(document.fault(f"the file belongs into {wanted}, after its first competency", "competencies"))
    return faults
