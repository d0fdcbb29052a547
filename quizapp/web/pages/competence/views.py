"""The picture of one's own competence over time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from flask import Blueprint, render_template

from quizapp.assessment.competence_advice import Advice
from quizapp.assessment.competence_settings import PRACTISE_BELOW_FRACTION, Track
from quizapp.assessment.permissions import Right
from quizapp.psychometrics.calibration import FEWEST_NOT_SHOWN, FEWEST_OUTCOMES
from quizapp.services.competence_picture import CompetencyPicture, MyPicture, TrackPicture, my_picture
from quizapp.web.components.competence_chart import (
    CompetenceChart,
    about_in_hundred,
    band_words,
    believed_words,
    competence_chart,
)
from quizapp.web.edge import act, edge
from quizapp.web.filters import short_day
from quizapp.web.policy import policy

blueprint = Blueprint("competence", __name__, template_folder="templates", url_prefix="/my-competence")

NAMES = {Track.KNOWLEDGE: "Knowledge", Track.PERFORMANCE: "Hands"}
THINGS = {Track.KNOWLEDGE: "answer", Track.PERFORMANCE: "step"}
MOST_PROPOSALS = 4
SOURCES = {Track.KNOWLEDGE: "from questions answered", Track.PERFORMANCE: "from observations signed"}


@dataclass(frozen=True, kw_only=True)
class AheadShown:
    """One line of the table beside a chart."""

    day: date
    chance: str
    band: str


@dataclass(frozen=True, kw_only=True)
class TrackShown:
    """One chart with its words and its table."""

    id: str
    name: str
    source: str
    picture: TrackPicture
    chart: CompetenceChart
    advice: str
    now: str
    glance: str
    evidence: str
    ahead: tuple[AheadShown, ...]


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """One thing the estimate proposes: for which skill, why with its band, and where it can be done."""

    code: str
    is_critical: bool
    skill: str
    why: str
    procedure: str
    is_hands: bool


@dataclass(frozen=True, kw_only=True)
class CompetencyShown:
    """One competency with its charts."""

    picture: CompetencyPicture
    tracks: tuple[TrackShown, ...]
    glance: tuple[tuple[str, str, str], ...]


@blueprint.get("")
@policy(right=Right.SEE_OWN_RECORD)
def show() -> str:
    """Show what the estimate believes of the person, and how little that may mean."""
    page = my_picture(act(), edge().library)
    return render_template(
        "competence/show.html",
        page=page,
        finding=_finding(page),
        competencies=[_competency(one) for one in page.competencies],
        proposals=[_proposal(*pair) for pair in page.worth_a_word[:MOST_PROPOSALS]],
        names=NAMES,
        track_count=page.assessed_count,
        threshold=f"{PRACTISE_BELOW_FRACTION * 100:.0f} in 100",
        fewest=FEWEST_OUTCOMES,
        fewest_not_shown=FEWEST_NOT_SHOWN,
        today=act().today,
    )


def _finding(page: MyPicture) -> str:
    if not page.competencies:
        return "There is no estimate of you yet."
    if not page.assessed_count:
        return "Little is known of you yet: nobody has assessed you here."
    if not page.under_mark:
        return "Nothing has faded under the mark for practice."
    first, track = page.under_mark[0]
    return f"{NAMES[track.track]} at {first.code} would gain most from practice."


def _competency(one: CompetencyPicture) -> CompetencyShown:
    tracks = tuple(_track(one.code, track) for track in one.tracks)
    known = {shown.name: (shown.glance, f"{shown.ahead[0].band} {shown.chart.unit}") for shown in tracks}
    return CompetencyShown(
        picture=one,
        tracks=tracks,
        glance=tuple((name, *known.get(name, ("nothing known", ""))) for name in NAMES.values()),
    )


def _track(code: str, picture: TrackPicture) -> TrackShown:
    return TrackShown(
        id=f"{code}-{picture.track.value}",
        name=NAMES[picture.track],
        source=SOURCES[picture.track],
        picture=picture,
        chart=competence_chart(picture, act().today),
        advice=_advice(picture),
        now=about_in_hundred(picture.estimate.chance_fraction),
        glance=_glance(picture),
        evidence=_evidence(picture),
        ahead=tuple(
            AheadShown(
                day=one.point.day,
                chance=about_in_hundred(one.chance_fraction),
                band=band_words(picture.track, one.point),
            )
            for one in picture.ahead
        ),
    )


def _evidence(picture: TrackPicture) -> str:
    count, word = picture.estimate.state.evidence_count, THINGS[picture.track]
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def _glance(picture: TrackPicture) -> str:
    if not picture.estimate.is_assessed:
        return "little known, only practised so far"
    if picture.is_under_mark:
        falls = "under the mark"
    elif picture.under_mark_on is None:
        falls = "under the mark never"
    else:
        falls = f"under the mark from {short_day(picture.under_mark_on)}"
    return f"{about_in_hundred(picture.estimate.chance_fraction)}, {falls}"


def _advice(picture: TrackPicture) -> str:
    if picture.advice is Advice.CONCERN:
        return "a concern"
    if picture.is_under_mark:
        return "an earlier booster is proposed now"
    if picture.under_mark_on is None:
        return "above the mark"
    falls = f"above the mark until about {short_day(picture.under_mark_on)}"
    return f"{falls}, so a booster is proposed before" if picture.advice is Advice.BOOSTER_SOON else falls


def _proposal(one: CompetencyPicture, track: TrackPicture) -> Proposal:
    is_hands, said = track.track is Track.PERFORMANCE, _advice(track)
    return Proposal(
        code=one.code,
        is_critical=one.is_critical,
        skill=f"{NAMES[track.track]} at {one.code}, {one.title}",
        why=f"{said[0].upper()}{said[1:]}: {believed_words(track.estimate)}.",
        procedure=one.procedures[0] if is_hands and one.procedures else "",
        is_hands=is_hands,
    )
