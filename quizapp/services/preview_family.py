"""What an author sees of a family before anybody is asked: its warnings, how its draws fare, and whole questions."""

from __future__ import annotations

import difflib
from dataclasses import dataclass

from quizapp.assessment.drawing import DrawFault
from quizapp.assessment.families import Family
from quizapp.assessment.permissions import Right
from quizapp.assessment.profile_values import other_profile_for, suits
from quizapp.assessment.question_generator import DrawReport, draw_report
from quizapp.assessment.questions import Question
from quizapp.content.family_draws import REPORT_DRAWS, draw_faults, question_faults
from quizapp.content.library import Library
from quizapp.errors import ContentFault, NotFound
from quizapp.services.act import Act
from quizapp.services.require_right import require_right
from quizapp.ventilation.device_profile import DeviceProfile

DRAWS_SHOWN = 20
LAST_SEED = 10**9


@dataclass(frozen=True, kw_only=True)
class Preview:
    """One family drawn for one device. `faults`: errors first, then warnings, of the file and of these draws.

    `report` is None where nothing could be drawn at all.
    """

    family: Family
    profile: DeviceProfile
    suited: tuple[DeviceProfile, ...]
    unsuited: tuple[DeviceProfile, ...]
    faults: tuple[ContentFault, ...]
    report: DrawReport | None
    first_seed: int
    questions: tuple[Question, ...]


def preview_family(act: Act, library: Library, code: str, *, profile_slug: str = "", first_seed: int = 0) -> Preview:
    """Draw 20 questions of a family for a device revision (default: the newest it suits).

    first_seed: 0 to 1,000,000,000. Raises NotFound for an unknown family, naming the nearest, for an unknown device,
    and for one the family does not suit.
    """
    require_right(act, Right.PREVIEW_CONTENT)
    family = library.family(code)
    suited = tuple(profile for profile in library.profiles if suits(family, profile))
    profile = _profile(family, suited, library, profile_slug)
    seed = min(max(first_seed, 0), LAST_SEED)
    questions, stopped = _drawn(library, family, profile, seed)
    return Preview(
        family=family,
        profile=profile,
        suited=suited,
        unsuited=tuple(one for one in library.profiles if one not in suited),
        faults=_faults(act, library, family, questions, stopped),
        report=None if stopped else _report(library, family, profile),
        first_seed=seed,
        questions=questions,
    )


def families_like(library: Library, text: str) -> tuple[Family, ...]:
    """Return up to five families whose code is near a text, or whose title holds it."""
    codes = difflib.get_close_matches(text.upper(), list(library.families), n=5, cutoff=0.5)
    titled = [
        one.code for one in library.families.values() if len(text) > 2 and text.casefold() in one.title.casefold()
    ]
    return tuple(library.families[code] for code in list(dict.fromkeys([*titled, *codes]))[:5])


def _profile(family: Family, suited: tuple[DeviceProfile, ...], library: Library, slug: str) -> DeviceProfile:
    if not slug and suited:
        return suited[-1]
    for profile in suited:
        if profile.slug == slug:
            return profile
    if slug in library.profile_files:
        raise NotFound(f"{family.code} is not asked about {library.profile_files[slug].profile.label}.")
    raise NotFound(f"There is no device revision {slug} that {family.code} is asked about.")


def _drawn(library: Library, family: Family, profile: DeviceProfile, first: int) -> tuple[tuple[Question, ...], str]:
    """Return the questions, and the fault that ended drawing if any did."""
    questions: list[Question] = []
    try:
        for seed in range(first, first + DRAWS_SHOWN):
            questions.append(library.draw(family.code, profile, seed))
    except DrawFault as fault:
        return tuple(questions), str(fault)
    return tuple(questions), ""


def _report(library: Library, family: Family, profile: DeviceProfile) -> DrawReport:
    other = other_profile_for(family, profile, library.profiles)
    return draw_report(family, profile, REPORT_DRAWS, other_profile=other)


def _faults(
    act: Act,
    library: Library,
    family: Family,
    questions: tuple[Question, ...],
    stopped: str,
) -> tuple[ContentFault, ...]:
    def fault(message: str, level: str) -> ContentFault:
        return ContentFault(path=family.path, line=1, message=message, level=level)

    found = [one for one in library.warnings if one.path == family.path]
    found += draw_faults(family, library.profiles)
    if stopped:
        found.append(fault(stopped, "error"))
    found += [fault(f"seed {one.seed}: {text}", "error") for one in questions for text in question_faults(one)]
    if family.review_by < act.today:
        found.append(fault(f"was to be reviewed by {family.review_by.isoformat()}", "warning"))
    return tuple(sorted(dict.fromkeys(found), key=lambda one: (one.level != "error", one.line)))
