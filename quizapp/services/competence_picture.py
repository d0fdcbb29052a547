"""A person's own picture of competence over time: each competency and track as it was, is, and would go on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from quizapp.assessment.competence_advice import Advice, advice
from quizapp.assessment.competence_history import CompetenceState
from quizapp.assessment.competence_models import CompetenceModels
from quizapp.assessment.competence_settings import PRACTISE_BELOW_FRACTION, Track
from quizapp.content.library import Library
from quizapp.psychometrics.competence_gaussian import Moments, faded_moments
from quizapp.psychometrics.fade_model import FadeModel
from quizapp.services.act import Act
from quizapp.services.competence_calibration import TrackCalibration, calibration_of_service
from quizapp.services.competence_episodes import Skill, episodes_of
from quizapp.services.competence_models_in_force import models_in_force
from quizapp.services.competence_of import BAND_SDS, Estimate
from quizapp.services.standards import standard_on
from quizapp.services.update_competence import all_told

DAYS_SHOWN = 365
STEP_DAYS = 14
AHEAD_DAYS = (0, 30, 91, 182, 365)


@dataclass(frozen=True, kw_only=True)
class PicturePoint:
    """The best guess of a skill on a day and between what eight chances in ten lie, in logits above the standard."""

    day: date
    mean: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Ahead:
    """What is foretold for a day without new evidence."""

    days: int
    chance_fraction: float
    point: PicturePoint


@dataclass(frozen=True, kw_only=True)
class TrackPicture:
    """One track of one competency. `past` ends today, `future` begins there; `seen_on` are the days with evidence."""

    track: Track
    estimate: Estimate
    past: tuple[PicturePoint, ...]
    future: tuple[PicturePoint, ...]
    seen_on: tuple[PicturePoint, ...]
    ahead: tuple[Ahead, ...]
    under_mark_on: date | None

    @property
    def is_under_mark(self) -> bool:
        """Whether practice is worth it now."""
        return self.estimate.chance_fraction < PRACTISE_BELOW_FRACTION

    @property
    def advice(self) -> Advice:
        """What is worth a word: a concern, an earlier booster, or nothing; nothing of what was only practised."""
        if not self.estimate.is_assessed:
            return Advice.NOTHING
        return advice(
            chance_fraction=self.estimate.chance_fraction,
            under_mark_on=self.under_mark_on,
            today=self.estimate.day,
            signed_off_until=None,
        )


@dataclass(frozen=True, kw_only=True)
class CompetencyPicture:
    """One competency with the tracks of which anything is known."""

    code: str
    title: str
    is_critical: bool
    tracks: tuple[TrackPicture, ...]
    procedures: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class MyPicture:
    """Everything the page shows: the competencies in their order, and how far the figures can be believed here."""

    competencies: tuple[CompetencyPicture, ...]
    calibrations: tuple[TrackCalibration, ...]

    @property
    def assessed_count(self) -> int:
        """How many of the estimates rest on something that others assessed."""
        return sum(track.estimate.is_assessed for one in self.competencies for track in one.tracks)

    @property
    def under_mark(self) -> list[tuple[CompetencyPicture, TrackPicture]]:
        """What others assessed and lies under the mark: critical ones first, then the lowest chance."""
        return [pair for pair in self.worth_a_word if pair[1].is_under_mark]

    @property
    def worth_a_word(self) -> list[tuple[CompetencyPicture, TrackPicture]]:
        """What it raises a concern about or proposes a booster for: critical ones first, then the lowest chance."""
        found = [
            (one, track) for one in self.competencies for track in one.tracks if track.advice is not Advice.NOTHING
        ]
        return sorted(found, key=lambda pair: (not pair[0].is_critical, pair[1].estimate.chance_fraction))


def my_picture(act: Act, library: Library) -> MyPicture:
    """Return the actor's own picture, told from the records."""
    person_id = act.actor.person_id
    episodes = episodes_of(act.session, act.zone, [person_id])
    standard = standard_on(act.session, act.today)
    required = {one.competency: one for one in standard.requirements} if standard else {}
    models = models_in_force(act.session)
    states = {skill: all_told(found, models, skill) for skill, found in episodes.items()}
    return MyPicture(
        competencies=tuple(
            CompetencyPicture(
                code=code,
                title=competency.title,
                is_critical=required[code].is_critical if code in required else competency.is_critical,
                procedures=tuple(required[code].procedures) if code in required else (),
                tracks=_tracks(act.today, person_id, code, states, models),
            )
            for code, competency in library.competencies.items()
            if any(skill.competency == code for skill in states)
        ),
        calibrations=tuple(calibration_of_service(act.session).values()),
    )


def _tracks(
    today: date, person_id: str, code: str, states: dict[Skill, list[CompetenceState]], models: CompetenceModels
) -> tuple[TrackPicture, ...]:
    skills = (Skill(person_id=person_id, competency=code, track=track) for track in Track)
    return tuple(_track(today, skill, states[skill], models) for skill in skills if states.get(skill))


def _track(today: date, skill: Skill, states: Sequence[CompetenceState], models: CompetenceModels) -> TrackPicture:
    day, whole = max(today, states[-1].last_day), models.of(skill.competency, skill.track)
    estimate = Estimate(competency=skill.competency, track=skill.track, day=day, state=states[-1], model=whole)
    model = whole.fade
    shown_from = today - timedelta(days=DAYS_SHOWN)
    return TrackPicture(
        track=skill.track,
        estimate=estimate,
        past=tuple(_past(model, states, shown_from, day)),
        future=tuple(_point(model, states[-1], day + timedelta(days=days)) for days in _every(STEP_DAYS, DAYS_SHOWN)),
        seen_on=tuple(_point(model, one, one.last_day) for one in states if one.last_day >= shown_from),
        ahead=tuple(
            Ahead(
                days=days,
                chance_fraction=estimate.chance_after(days),
                point=_point(model, states[-1], day + timedelta(days=days)),
            )
            for days in AHEAD_DAYS
        ),
        under_mark_on=estimate.falls_under(PRACTISE_BELOW_FRACTION),
    )


def _past(model: FadeModel, states: Sequence[CompetenceState], shown_from: date, until: date) -> Iterator[PicturePoint]:
    """Give the points from the first evidence shown on: fading between, a jump where evidence came."""
    ends = [*(one.last_day for one in states[1:]), until]
    for state, end in zip(states, ends, strict=True):
        for days in _every(STEP_DAYS, (end - state.last_day).days):
            day = state.last_day + timedelta(days=days)
            if day >= shown_from:
                yield _point(model, state, day)


def _every(step: int, last: int) -> list[int]:
    return [*range(0, last, step), last]


def _point(model: FadeModel, state: CompetenceState, day: date) -> PicturePoint:
    after = Moments(mean=state.belief.mean, variance=state.belief.sd**2)
    then = faded_moments(after, model, (day - state.last_day).days)
    return PicturePoint(
        day=day, mean=then.mean, low=then.mean - BAND_SDS * then.sd, high=then.mean + BAND_SDS * then.sd
    )
