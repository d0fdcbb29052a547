"""Four trends over the same minutes: rate, peak, end-tidal carbon dioxide and saturation, one above the other."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from quizapp.web.instruments.plot import Plot, Range, squared


@dataclass(frozen=True, kw_only=True)
class Channel:
    """One trended value: name, unit, squares, and the least range shown, so that noise does not look like a change."""

    key: str
    name: str
    unit: str
    fine: float
    main: float
    least: float
    ceiling: float | None = None


CHANNELS = (
    Channel(key="rate_per_min", name="Rate", unit="/min", fine=1, main=5, least=10),
    Channel(key="peak_cmh2o", name="Peak pressure", unit="cmH2O", fine=2, main=10, least=20),
    Channel(key="end_tidal_mmhg", name="End-tidal carbon dioxide", unit="mmHg", fine=2, main=10, least=20),
    Channel(key="saturation_percent", name="Saturation", unit="%", fine=1, main=5, least=10, ceiling=100),
)


def trend(series: Mapping[str, Sequence[float]], minutes: Sequence[float] = ()) -> tuple[Plot, ...]:
    """Return one plot for each series given, on the same minutes (0, 1, 2 … unless given).

    Raises ValueError when a series has fewer than two values or another length than the minutes.
    """
    known = [channel for channel in CHANNELS if channel.key in series]
    if not known:
        raise ValueError(f"a trend needs one of {', '.join(channel.key for channel in CHANNELS)}")
    length = len(series[known[0].key])
    at = list(minutes) or [float(number) for number in range(length)]
    x = _minutes(at)
    return tuple(_plot(channel, series[channel.key], at, x) for channel in known)


def _plot(channel: Channel, values: Sequence[float], minutes: Sequence[float], x: Range) -> Plot:
    if len(values) != len(minutes):
        raise ValueError(f"{channel.name}: {len(values)} values for {len(minutes)} minutes")
    points = list(zip(minutes, values, strict=True))
    return squared(points, x, _range(channel, values), name=channel.name, unit=channel.unit, x_unit="min")


def _minutes(minutes: Sequence[float]) -> Range:
    last = max(*minutes, min(minutes) + 1)
    long = last - min(minutes) > 12
    return Range(low=min(minutes), high=last, fine=1, main=5, label=5 if long else 2 if last > 5 else 1)


def _range(channel: Channel, values: Sequence[float]) -> Range:
    step = channel.main
    low = math.floor((min(values) - 1e-9) / step) * step
    high = math.ceil((max(values) + 1e-9) / step) * step
    if channel.ceiling is not None:
        high = min(high, channel.ceiling)
    while high - low < channel.least:
        if channel.ceiling is None or high < channel.ceiling:
            high += step
        if high - low < channel.least and low > 0:
            low -= step
    return Range(low=low, high=high, fine=channel.fine, main=step, label=step)
