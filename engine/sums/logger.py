"""From a logger's log to what a maker would have answered, and to what the climate did.

A log speaks only for its own period. It never takes back an answer that was given: where the two
differ, both are shown. Hours above 20 °C are a matter of safety, so there the larger figure counts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from ..answers import Answers, Unusable, Value, understand
from ..model import Question
from .air_salts import ONE_POINT, TWO_POINTS, check_over_salt, salt_point
from .ground import Formula, OutOfRange
from .logger_facts import log_facts, part_of, weights_h
from .logger_reading import Log
from .logger_record import Bands, LogFacts
from .logger_stamps import DAY_S, stamp
from .logger_values import Figures

SMEAR_BANDS = Bands(10.0, 16.0, 90.0, 95.0)
"""What a washed rind is kept at. Humidity: University of Guelph; temperature: a judgement."""
WEEK_DAYS = 7.0
_EDGE = 0.05
"""Share of the time left out at either end before a lowest or highest temperature is taken."""
_SWING_K, _SWING_PCT, _SWING_DAYS = 3.0, 8.0, 1 / 3
_WORTH_TELLING = 0.1
_MOSTLY = 0.7
_ENOUGH_H = 24.0

LOG_ANSWERS = Formula(
    "log_answers",
    "Answers from a log",
    "humidity: mean; lowest and highest temperature: without the extreme twentieth of the time; swings: 3 °C or 8 % "
    "on a third of the days",
    "the last seven days of the log, a day of readings at least",
    "logger_rules",
)


@dataclass(frozen=True, slots=True)
class SaltCheck:
    """A logger held over a saturated salt."""

    day: int
    """Days since 1970, by the wall clock."""
    salt: str
    salt_pct: float
    reading_pct: float


def salt_check(day: int, salt: str, reading_pct: float, temperature_c: float) -> SaltCheck:
    """A check, with the humidity of the salt at its temperature. Raises ``OutOfRange``."""
    point = salt_point(salt, temperature_c)
    check_over_salt(reading_pct, point.humidity_pct)
    return SaltCheck(day, point.salt, point.humidity_pct, reading_pct)


def corrected(log: Log, checks: Iterable[SaltCheck]) -> Log:
    """The log with its humidity put right: one salt shifts it, two on one day also stretch it; between days it drifts.

    Raises ``OutOfRange`` without a humidity, for more than two salts on a day, or two whose readings lie within 5 %.
    """
    by_day: dict[int, list[SaltCheck]] = {}
    for check in checks:
        by_day.setdefault(check.day, []).append(check)
    if not by_day:
        return log
    if not log.has_humidity:
        raise OutOfRange(
            f"{log.name} has no humidity that a salt check could put right; expected a column of humidity: where its "
            "name is not recognised, give --humidity-column NAME."
        )
    days = sorted(by_day)
    lines = [_line(by_day[day]) for day in days]
    at = log.wall_seconds / DAY_S
    gain = np.interp(at, days, [g for g, _ in lines])
    shift = np.interp(at, days, [s for _, s in lines])
    humidity: Figures = np.minimum(100.0, np.maximum(0.0, gain * log.humidity_pct + shift))
    names = " and ".join(sorted({c.salt for day in days for c in by_day[day]}))
    over = "" if len(days) == 1 else f", drifting between {len(days)} checks"
    formula = TWO_POINTS if any(len(by_day[d]) > 1 for d in days) else ONE_POINT
    return replace(
        log, humidity_pct=humidity, said=(*log.said, f"{formula.name}: humidity put right by {names}{over}.")
    )


def _line(checks: list[SaltCheck]) -> tuple[float, float]:
    if len(checks) == 1:
        return 1.0, checks[0].salt_pct - checks[0].reading_pct
    if len(checks) > 2:
        raise OutOfRange(f"There are {len(checks)} salt checks for one day; expected one or two.")
    low, high = sorted(checks, key=lambda c: (c.salt_pct, c.reading_pct))
    apart = high.reading_pct - low.reading_pct
    if apart <= 5:
        raise OutOfRange(
            f"The readings over {low.salt} and {high.salt} cannot be {low.reading_pct:.4g} and {high.reading_pct:.4g} "
            "%; expected more than 5 % apart, the moister salt higher: from closer ones no line can be drawn."
        )
    gain = (high.salt_pct - low.salt_pct) / apart
    return gain, low.salt_pct - gain * low.reading_pct


@dataclass(frozen=True, slots=True)
class LogAnswers:
    """What a log answers, with its period and number of readings; nothing counts before the maker has seen it."""

    name: str
    from_wall_s: int
    to_wall_s: int
    readings: int
    answers: tuple[tuple[str, Value], ...]
    told: tuple[str, ...]
    """Circumstances in plain words: "too dry by day"."""
    facts: LogFacts
    formula: Formula = LOG_ANSWERS

    @property
    def period(self) -> str:
        """From when to when, and how many readings."""
        return f"{stamp(self.from_wall_s)} to {stamp(self.to_wall_s)}, {self.readings} readings"


def facts_from_log(
    log: Log,
    questions: Mapping[str, Question],
    bands: Bands = SMEAR_BANDS,
    wheel_hours: float = 4.0,
    salted_day: int | None = None,
) -> LogAnswers:
    """Answers to existing questions from the last seven days of a log, and circumstances in words.

    The hours above 20 °C are those of the whole log. Raises ``OutOfRange`` when the log holds less than a day
    of readings.
    """
    whole = log_facts(log, bands, wheel_hours, salted_day)
    week = log_facts(log, bands, wheel_hours, salted_day, last_days=WEEK_DAYS)
    if week.observed_h < _ENOUGH_H - 1e-6:
        raise OutOfRange(
            f"The log cannot be {week.observed_h:.1f} hours of readings; expected at least 24: a day has its own swing."
        )
    part, _ = part_of(log, salted_day, WEEK_DAYS)
    low, high = _inner_span(part.temperature_c, weights_h(part))
    raw: dict[str, float | str | None] = {
        "humidity_pct": week.mean_pct,
        "temp_low_c": low,
        "temp_high_c": high,
        "swings": _swings(week),
        "warm_hours": whole.hours_above_20_c or None,
    }
    return LogAnswers(
        log.name,
        week.from_wall_s,
        week.to_wall_s,
        week.readings,
        tuple(_fitting(raw, questions)),
        tuple(_told(week)),
        week,
    )


def adding(answers: Answers, found: LogAnswers, questions: Mapping[str, Question]) -> tuple[Answers, tuple[str, ...]]:
    """Answers with those of a log added, and one sentence for each on which they differ."""
    said = []
    for question, value in found.answers:
        given = answers.get(question)
        if given is None or given == "unknown":
            answers = answers.adding(question, value)
        elif question == "warm_hours" and isinstance(given, float) and isinstance(value, float):
            if value > given:
                said.append(f"Hours above 20 °C: you said {given:g}, the log has {value:g}; the larger counts.")
                answers = answers.adding(question, value)
        elif given != value:
            unit = questions[question].unit
            said.append(
                f"{question}: you said {_shown(given, unit)}, the log says {_shown(value, unit)}; your answer counts."
            )
    return answers, tuple(said)


def _shown(value: Value, unit: str) -> str:
    return f"{value:g} {unit}".strip() if isinstance(value, float) else str(value)


def _fitting(raw: Mapping[str, float | str | None], questions: Mapping[str, Question]) -> Iterable[tuple[str, Value]]:
    for question, value in raw.items():
        if value is None or question not in questions:
            continue
        try:
            yield question, understand(questions[question], round(value, 1) if isinstance(value, float) else value)
        except Unusable:  # beyond what the question takes: better no answer than a bent one
            continue


def _inner_span(values: Figures, weight: Figures) -> tuple[float | None, float | None]:
    known = np.isfinite(values)
    if not known.any():
        return None, None
    order = np.argsort(values[known], kind="stable")
    ordered, gone = values[known][order], np.cumsum(weight[known][order])
    total = float(gone[-1])
    low = ordered[min(len(ordered) - 1, int(np.searchsorted(gone, _EDGE * total, side="right")))]
    high = ordered[min(len(ordered) - 1, int(np.searchsorted(gone, (1 - _EDGE) * total, side="left")))]
    return float(low), float(high)


def _swings(week: LogFacts) -> str | None:
    days = [s for s in week.swings if s.temperature_k is not None or s.humidity_pct is not None]
    if not days:
        return None
    swinging = sum((s.temperature_k or 0) >= _SWING_K or (s.humidity_pct or 0) >= _SWING_PCT for s in days)
    if swinging >= math.ceil(_SWING_DAYS * len(days)):
        return "yes"
    return None if swinging else "no"


def _told(facts: LogFacts) -> Iterable[str]:
    for band, below, above, low, high, unit in (
        (facts.humidity, "too dry", "too moist", facts.bands.low_pct, facts.bands.high_pct, "%"),
        (facts.temperature, "too cold", "too warm", facts.bands.low_c, facts.bands.high_c, "°C"),
    ):
        if band is None:
            continue
        total = band.below_h + band.within_h + band.above_h
        for what, limit, word, hours, by_day in (
            (below, low, "below", band.below_h, band.below_by_day_h),
            (above, high, "above", band.above_h, band.above_by_day_h),
        ):
            if hours > _WORTH_TELLING * total:
                when = _when(by_day, hours)
                yield f"{what} {when}: {hours:.0f} of {total:.0f} hours {word} {limit:g} {unit}"
    if facts.episodes:
        spells = len(facts.episodes)
        by_day = facts.sweating_h - facts.sweating_by_night_h
        yield (
            f"sweats {_when(by_day, facts.sweating_h)}: {facts.sweating_h:.0f} hours in {spells} "
            f"spell{'' if spells == 1 else 's'} with the wheel below the dew point"
        )


def _when(by_day_h: float, hours: float) -> str:
    if by_day_h >= _MOSTLY * hours:
        return "by day"
    return "at night" if by_day_h <= (1 - _MOSTLY) * hours else "day and night"
