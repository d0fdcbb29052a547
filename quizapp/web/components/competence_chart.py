"""The picture of one skill over time: a line with its band up to today, the forecast from there, and the standard.

The upright axis is even in the skill and labelled with the share of steps or questions it stands for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from quizapp.assessment.competence_scale import WORDS, expected_fraction, skill_of, standard_fraction
from quizapp.assessment.competence_settings import Track
from quizapp.services.competence_of import Estimate
from quizapp.services.competence_picture import DAYS_SHOWN, PicturePoint, TrackPicture
from quizapp.web.instruments.plot import AxisLabel, GridLine, Range, curve
from quizapp.web.instruments.written import coordinate

SKILLS = Range(low=-3.0, high=3.0, fine=1, main=1, label=1)
SHARES = {
    Track.KNOWLEDGE: (0.25, 0.50, 0.75, 0.90, 0.95),
    Track.PERFORMANCE: (0.25, 0.50, 0.75, 0.90, 0.97, 0.99),
}
QUARTERS = range(-4, 5)


@dataclass(frozen=True, kw_only=True)
class Mark:
    """Evidence of one day, in percent of the field."""

    x: str
    y: str


@dataclass(frozen=True, kw_only=True)
class CompetenceChart:
    """Everything drawn; paths lie in a field of 1000 by 1000, the rest is in percent. `words` say what is drawn."""

    columns: tuple[GridLine, ...]
    rows: tuple[GridLine, ...]
    x_labels: tuple[AxisLabel, ...]
    y_labels: tuple[AxisLabel, ...]
    standard_y: str
    today_x: str
    band: str
    line: str
    future_band: str
    future_line: str
    marks: tuple[Mark, ...]
    unit: str
    words: str


def competence_chart(picture: TrackPicture, today: date) -> CompetenceChart:
    """Return the drawing of a year back and a year on."""
    days = Range(low=-DAYS_SHOWN, high=DAYS_SHOWN, fine=1, main=1, label=1)
    return CompetenceChart(
        columns=tuple(
            GridLine(at=_percent(days.percent(quarter * DAYS_SHOWN / 4)), is_main=quarter in {-4, 0, 4})
            for quarter in QUARTERS
        ),
        rows=tuple(
            GridLine(at=_upwards(skill_of(picture.track, share)), is_main=False) for share in SHARES[picture.track]
        ),
        x_labels=_day_labels(today, days),
        y_labels=tuple(
            AxisLabel(at=_upwards(skill_of(picture.track, share)), text=f"{share * 100:.0f}")
            for share in SHARES[picture.track]
        ),
        standard_y=_upwards(0.0),
        today_x=_percent(days.percent(0)),
        band=_band(picture.past, today, days),
        line=_line(picture.past, today, days),
        future_band=_band(picture.future, today, days),
        future_line=_line(picture.future, today, days),
        marks=tuple(Mark(x=_percent(days.percent(_day(one, today))), y=_upwards(one.mean)) for one in picture.seen_on),
        unit=WORDS[picture.track],
        words=_words(picture),
    )


def band_words(track: Track, point: PicturePoint) -> str:
    """Say a band as shares of a hundred, such as "71 to 97"."""
    low, high = (round(100 * expected_fraction(track, skill)) for skill in (point.low, point.high))
    return f"{low} to {high}"


def believed_words(estimate: Estimate) -> str:
    """Say an estimate with its band, such as "about 62 in 100 to meet the standard, band 55 to 90 …"."""
    low, high = (round(100 * expected_fraction(estimate.track, skill)) for skill in estimate.band)
    chance = about_in_hundred(estimate.chance_fraction)
    return f"{chance} to meet the standard, band {low} to {high} {WORDS[estimate.track]}"


def about_in_hundred(fraction: float) -> str:
    """Write an estimated chance without a precision it does not have, such as "about 35 in 100"."""
    whole = round(100 * fraction)
    if whole < 1:
        return "under 1 in 100"
    return "over 99 in 100" if whole > 99 else f"about {whole} in 100"


def _words(picture: TrackPicture) -> str:
    standard = round(100 * standard_fraction(picture.track))
    last = picture.past[-1] if picture.past else picture.future[0]
    days = len(picture.seen_on)
    return (
        f"A line with a band, a year back and a year on; small squares stand at {days} day{'s' * (days != 1)} with "
        f"evidence. Today the band reaches from {band_words(picture.track, last)} {WORDS[picture.track]}; the standard "
        f"lies at {standard}. Without new evidence the line falls and the band widens."
    )


def _day(point: PicturePoint, today: date) -> int:
    return (point.day - today).days


def _points(points: Iterable[PicturePoint], today: date, name: str) -> list[tuple[float, float]]:
    return [(_day(one, today), min(max(getattr(one, name), SKILLS.low), SKILLS.high)) for one in points]


def _line(points: Sequence[PicturePoint], today: date, days: Range) -> str:
    return curve(_points(points, today, "mean"), days, SKILLS) if len(points) > 1 else ""


def _band(points: Sequence[PicturePoint], today: date, days: Range) -> str:
    if len(points) < 2:
        return ""
    there, back = _points(points, today, "high"), _points(points, today, "low")
    return curve([*there, *reversed(back)], days, SKILLS) + "Z"


def _day_labels(today: date, days: Range) -> tuple[AxisLabel, ...]:
    ends = ((-DAYS_SHOWN, "start"), (0, "middle"), (DAYS_SHOWN, "end"))
    return tuple(
        AxisLabel(
            at=_percent(days.percent(away)),
            text="today" if away == 0 else f"{today + timedelta(days=away):%b %Y}",
            end=end,
        )
        for away, end in ends
    )


def _upwards(skill: float) -> str:
    return _percent(100 - SKILLS.percent(skill))


def _percent(value: float) -> str:
    return f"{coordinate(value)}%"
