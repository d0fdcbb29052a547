"""Checks a family by drawing from it: wrong ideas that collide, keys out of range, figures off their scale."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal

from quizapp.assessment.drawing import DrawFault
from quizapp.assessment.families import Family, FamilyKind, ListDraw
from quizapp.assessment.figure_kinds import figure_faults
from quizapp.assessment.profile_values import other_profile_for, profile_values, suits
from quizapp.assessment.question_generator import DrawReport, draw_question, draw_report
from quizapp.assessment.questions import Question
from quizapp.errors import ContentFault
from quizapp.ventilation.constants import USUAL_ADULT_PEAK_CMH2O
from quizapp.ventilation.device_profile import DeviceProfile

REPORT_DRAWS = 400
WHOLE_DRAWS = 25
RELEASE_DRAWS = 60
KEPT_REFUSED_BELOW = 0.20
KEPT_WARNED_BELOW = 0.50
UNNAMED_WARNED_ABOVE = 0.30
CONDITION_REFUSED_BELOW = 0.02


def draw_faults(family: Family, profiles: Sequence[DeviceProfile], draws: int = REPORT_DRAWS) -> list[ContentFault]:
    """Return what drawing shows about a family, with every profile it suits; `draws` numbers each."""
    suited = [profile for profile in profiles if suits(family, profile)]
    if not suited:
        return [_fault(family, "suits none of the device profiles; look at `requires`")]
    found: dict[tuple[str, str], list[str]] = {}
    for profile in suited:
        other = other_profile_for(family, profile, tuple(profiles))
        for finding in dict.fromkeys(_findings(family, profile, other, draws)):
            found.setdefault(finding, []).append(profile.label)
    return [_fault(family, f"{text} (drawn for {', '.join(labels)})", level) for (level, text), labels in found.items()]


def draw_reports(
    family: Family, profiles: Sequence[DeviceProfile], draws: int = REPORT_DRAWS
) -> dict[DeviceProfile, DrawReport]:
    """Return how the draws of a family fare with each device it suits. Raises DrawFault."""
    return {
        profile: draw_report(family, profile, draws, other_profile=other_profile_for(family, profile, tuple(profiles)))
        for profile in profiles
        if suits(family, profile)
    }


def release_fault(family: Family, profiles: Sequence[DeviceProfile]) -> str:
    """Return why a family must not count for sign-off, by a short look at its draws for the newest device; or ""."""
    suited = [profile for profile in profiles if suits(family, profile)]
    if not suited or not family.blanks:
        return "" if suited else "it suits none of the device profiles"
    try:
        report = draw_reports(family, suited[-1:], RELEASE_DRAWS)[suited[-1]]
    except DrawFault as fault:
        return str(fault)
    return next((text for level, text in _shares(report) if level == "error"), "")


def usual_faults(family: Family, profile: DeviceProfile) -> list[str]:
    """Return what is unusual about the numbers drawn and not said to be so: an adult peak off the common range."""
    low, high = (Decimal(bound) for bound in USUAL_ADULT_PEAK_CMH2O)
    names = {**profile_values(profile), "profile": profile}
    faults = []
    for design in family.draws:
        if (design.name, design.unit, design.unusual) != ("peak", "cmH2O", ""):
            continue
        bounds = design.values if isinstance(design, ListDraw) else (design.low, design.high)
        found = [bound.number(names) for bound in bounds if bound.names <= names.keys()]
        if found and not low <= min(found) <= max(found) <= high:
            faults.append(
                f"draws a peak from {min(found):f} to {max(found):f} cmH2O; for adults {low} to {high} is usual. "
                "Narrow it, or say in `unusual` why"
            )
    return faults


def question_faults(question: Question) -> list[str]:
    """Return what is wrong with one drawn question: its figures, its text alternatives, options that read the same."""
    faults = [f"figure {figure.instrument}: {fault}" for figure in question.figures for fault in figure_faults(figure)]
    if question.kind is FamilyKind.READING:
        faults += [
            f"figure {figure.instrument}: the text alternative gives the answer {blank.key_printed}"
            for figure in question.figures
            for blank in question.blanks
            if _holds_number(figure.alt, blank.key_printed)
        ]
    texts = [" ".join(option.text.casefold().split()) for option in question.options]
    if len(set(texts)) < len(texts):
        faults.append("option: two options read the same")
    return faults


def _findings(family: Family, profile: DeviceProfile, other: DeviceProfile | None, draws: int) -> list[tuple[str, str]]:
    try:
        report = draw_report(family, profile, draws, other_profile=other)
        findings = [*_shares(report), *(("warning", fault) for fault in usual_faults(family, profile))]
        if any(level == "error" for level, _ in findings):
            return findings
        for seed in range(WHOLE_DRAWS):
            question = draw_question(family, profile, seed, other_profile=other)
            findings += [("error", f"seed {seed}: {fault}") for fault in question_faults(question)]
            if any(level == "error" for level, _ in findings):
                return findings
    except DrawFault as fault:
        return [("error", str(fault))]
    return findings


def _shares(report: DrawReport) -> list[tuple[str, str]]:
    findings = []
    if report.met_condition < report.drawn * CONDITION_REFUSED_BELOW:
        return [("error", f"`where` holds for only {report.met_condition} of {report.drawn} draws; narrow the draws")]
    if report.out_of_range:
        findings.append(("error", f"the key leaves its stated range in {report.out_of_range} of {report.drawn} draws"))
    kept = f"{report.kept_share:.0%} of the draws can be asked; in the others a wrong idea would be marked right"
    if report.kept_share < KEPT_REFUSED_BELOW:
        findings.append(("error", f"only {kept}; at least {KEPT_REFUSED_BELOW:.0%} are needed"))
    elif report.kept_share < KEPT_WARNED_BELOW:
        findings.append(("warning", kept))
    if report.unnamed_share > UNNAMED_WARNED_ABOVE:
        findings.append(("warning", f"in {report.unnamed_share:.0%} of the draws two wrong ideas cannot be told apart"))
    return findings


def _holds_number(text: str, printed: str) -> bool:
    return re.search(rf"(?<![0-9.]){re.escape(printed)}(?![0-9]|\.[0-9])", text) is not None


def _fault(family: Family, message: str, level: str = "error") -> ContentFault:
    return ContentFault(path=family.path, line=1, message=message, level=level)
