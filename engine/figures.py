"""Answers that follow from figures: weighings become a loss by surface, a logger's week becomes circumstances.

What a maker has answered is never changed here. A figure that cannot be worked out, or that the
scale is too coarse for, is left out: it then stays unknown, as if nobody had weighed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from .answers import UNKNOWN, Answers, Unusable, is_known, understand
from .catalog import Catalog, asked
from .gates import makes_sense, plain_view
from .model import Cause, Question

if TYPE_CHECKING:
    from .catalog import Cheese
    from .sums.logger import LogAnswers
    from .sums.logger_reading import Log
    from .sums.shape import Shape

COUNT, WEIGHT, WIDTH, HEIGHT, FORM = "cheese_count", "weight_g", "cheese_width_cm", "cheese_height_cm", "cheese_form"
EARLIER = (("weight_earlier_g", "weight_earlier_days"), ("weight_between_g", "weight_between_days"))
BRINE_LITRES, BRINE_PCT = "brine_litres", "brine_pct"
SIZE = (WIDTH, HEIGHT, FORM)
WEIGHED = (WEIGHT, *(id for pair in EARLIER for id in pair))

FIGURES = (COUNT, BRINE_LITRES, *SIZE, *WEIGHED)
"""Questions that only sums and the plan look at: optional, and asked last."""

LOSS, LOSS_CHANGE, LOSS_WEEK = "rind_loss_g_m2_day", "rind_loss_change_pct", "weight_loss_pct_week"
CLEAR_ENOUGH_G_M2_DAY = 10.0
"""A loss is taken when the scale errs by less than this, or by less than 30 % of it: judgement."""
FIRST_DRYING_DAYS = 4
"""Until then a rind still dries from the make, so that weighings say little about the air: judgement."""
DRY_BY_DAY, DRY_BY_NIGHT, SWEATING = "air_dry_by_day_pct", "air_dry_by_night_pct", "sweating_h_week"
DRY_BELOW_PCT = 85.0
"""The limit below which the knowledge calls the air around a washed rind far too dry."""


def number(answers: Answers, question: str) -> float | None:
    """A number that was answered, or None."""
    value = answers.get(question)
    return value if isinstance(value, float) else None


def shape_of(answers: Answers) -> Shape | None:
    """The shape of the cheese, when its width and height were answered."""
    from .sums.ground import OutOfRange
    from .sums.shape import block, wheel

    width, height = number(answers, WIDTH), number(answers, HEIGHT)
    if width is None or height is None:
        return None
    try:
        if answers.get(FORM) == "square":
            return block(width, width, height)
        return wheel(width, height)
    except OutOfRange:
        return None


@dataclass(frozen=True, slots=True)
class Figure:
    """An answer that was worked out, and what it means for this cheese."""

    question: str
    value: float
    says: str


def told(catalog: Catalog, given: Answers, answers: Answers, cheese: Cheese) -> tuple[Figure, ...]:
    """What was worked out beyond the answers given, in words, with what would be usual where that is known."""
    added = [(id, value) for id, value in answers if given.get(id) is None and isinstance(value, float)]
    return tuple(Figure(id, value, _says(catalog.questions[id], value, answers, cheese)) for id, value in added)


def usual_band(cheese: Cheese) -> str | None:
    """The id of the usual loss of weight for a bare cheese, where there is one for its rind and age."""
    age = cheese.age_days
    if age is not None and age <= FIRST_DRYING_DAYS:
        return None
    if cheese.family == "natural" and age is not None:
        return "natural_first_month" if age <= 30 else "natural_later"
    if cheese.family == "washed":
        return "hard" if cheese.style is not None and cheese.style.hardness == "hard" else "washed"
    return cheese.family if cheese.family in ("bloomy", "mixed", "hard", "blue") else None


def _says(question: Question, value: float, answers: Answers, cheese: Cheese) -> str:
    if question.id == LOSS:
        bare = answers.get("wrap") in (None, UNKNOWN, "none")
        return _loss_in_words(value, answers, usual_band(cheese) if bare else None)
    if question.id == LOSS_WEEK:
        return f"It loses {value:.2g} % of its weight a week."
    if question.id == LOSS_CHANGE and abs(value) <= 25:
        return "The loss keeps steady between the weighings."
    if question.id == LOSS_CHANGE:
        return f"The loss has {'slowed down' if value < 0 else 'grown'} by {abs(value):.0f} % between the weighings."
    return f"{asked(question)} {value:g} {question.unit}."


def _loss_in_words(value: float, answers: Answers, kind: str | None) -> str:
    from .sums.drying import MOIST, band, humidity_for_flux

    said = f"The rind loses {value:.0f} g per square metre and day" if value >= 0 else (
        f"The cheese gains {-value:.0f} g per square metre and day"
    )  # fmt: skip
    if kind is None:
        return said + "."
    usual = band(kind)
    said += f"; usual for {usual.rind} is a loss of {usual.low:g} to {usual.high:g} (an estimate)."
    if kind not in MOIST:
        return said
    degrees = [c for c in (number(answers, "temp_low_c"), number(answers, "temp_high_c")) if c is not None]
    warmth = sum(degrees) / len(degrees) if degrees else 12.0
    if usual.low <= value <= usual.high or not 1 <= warmth <= 30:
        return said
    now, aim = (humidity_for_flux(flux, warmth) for flux in (value, (usual.low + usual.high) / 2))
    if now is None or aim is None:
        return said
    return (
        f"{said} In still air at {warmth:.0f} °C a bare moist rind does so at about {now:.0f} % humidity; "
        f"about {aim:.0f} % would be right."
    )


def with_figures(catalog: Catalog, answers: Answers) -> Answers:
    """The answers, with what follows from the weighings among them."""
    if number(answers, WEIGHT) is None or number(answers, EARLIER[0][0]) is None:
        return answers
    view = plain_view(catalog, answers)
    found = dict(_from_weighings(answers, view.cheese.age_days))
    weekly = catalog.questions.get(LOSS_WEEK)
    if weekly is not None and not makes_sense(weekly, view):  # such as for a piece that loses more than others
        found.pop(LOSS_WEEK, None)
    return _adding(catalog.questions, answers, found)


def _from_weighings(answers: Answers, age_days: float | None) -> Iterator[tuple[str, float]]:
    from .sums.drying import Weighing, weighed
    from .sums.ground import OutOfRange
    from .sums.shape import wheel

    now = number(answers, WEIGHT)
    weighings = [] if now is None else [Weighing(0.0, now)]
    for weight_question, days_question in EARLIER:
        weight, days = number(answers, weight_question), number(answers, days_question)
        if weight is not None and days is not None:
            weighings.append(Weighing(-days, weight))
    if age_days is not None:
        weighings = [w for w in weighings if age_days + w.day >= FIRST_DRYING_DAYS]
    shape = shape_of(answers)
    try:
        found = weighed(weighings, shape or wheel(20, 10))
    except OutOfRange:
        return
    overall = found.overall
    if overall.clear:
        yield LOSS_WEEK, 7 * overall.pct_per_day
    if shape is None:
        return
    if overall.clear or overall.error_g_m2_day <= CLEAR_ENOUGH_G_M2_DAY:
        yield LOSS, overall.flux_g_m2_day
    first, last = found.losses[0], found.losses[-1]
    if len(found.losses) > 1 and first.clear and first.flux_g_m2_day > 0 and found.trend != "not clear":
        yield LOSS_CHANGE, 100 * (last.flux_g_m2_day / first.flux_g_m2_day - 1)


def _adding(questions: Mapping[str, Question], answers: Answers, found: Mapping[str, float]) -> Answers:
    for id, figure in found.items():
        question = questions.get(id)
        if question is None or is_known(answers.get(id)):
            continue
        try:
            answers = answers.adding(id, understand(question, round(figure, 1)))
        except Unusable:  # beyond what the question takes: better unknown than bent
            continue
    return answers


def from_log(catalog: Catalog, log: Log, cheese: Cheese, weight_g: float | None = None) -> LogAnswers:
    """What a logger's file answers, with the shares of dry hours and the hours of sweating.

    ``weight_g`` sets how slowly the cheese follows the air. Raises ``OutOfRange`` when the log is too short.
    """
    from .sums.air_wheel import usual_time_constant_h
    from .sums.logger import facts_from_log

    hours = usual_time_constant_h(min(40.0, max(0.1, weight_g / 1000))) if weight_g else 4.0
    found = facts_from_log(log, catalog.questions, wheel_hours=hours)
    extra: dict[str, float] = {}
    if cheese.is_one_of(("cold_square",)) is not True:
        extra.update(_dry_shares(log))
    if found.facts.observed_h and log.has_temperature and log.has_humidity:
        extra[SWEATING] = found.facts.sweating_h * 168 / found.facts.observed_h
    added = _adding(catalog.questions, Answers(), extra)
    return replace(found, answers=(*found.answers, *added))


def _dry_shares(log: Log) -> Iterator[tuple[str, float]]:
    """Share of the hours, by day and by night, that were drier than the limit, over the last week of a log."""
    import numpy as np

    from .sums.logger import WEEK_DAYS
    from .sums.logger_facts import DAY_HOURS, weights_h
    from .sums.logger_stamps import DAY_S

    part = log.part(log.seconds > log.seconds[-1] - WEEK_DAYS * DAY_S)
    hour = part.wall_seconds % DAY_S // 3600
    by_day = (hour >= DAY_HOURS[0]) & (hour < DAY_HOURS[1])
    known, weight = np.isfinite(part.humidity_pct), weights_h(part)
    for id, when in ((DRY_BY_DAY, by_day), (DRY_BY_NIGHT, ~by_day)):
        hours = float(weight[known & when].sum())
        if hours >= 12:
            yield id, 100 * float(weight[known & when & (part.humidity_pct < DRY_BELOW_PCT)].sum()) / hours


def worth_weighing(catalog: Catalog, causes: list[Cause]) -> bool:
    """Whether a loss of weight speaks for or against any of these causes."""
    signs = {s for cause in causes for s in (*(k.sign for k in cause.signs), *(a.sign for a in cause.against)) if s}
    holds = {w for cause in causes for w in (*(k.when for k in cause.likelier), *(a.when for a in cause.against)) if w}
    from .conditions import leaves

    conditions = [catalog.signs[s].when for s in signs if s in catalog.signs]
    conditions += [catalog.circumstances[c].when for c in holds if c in catalog.circumstances]
    return any(leaf.ask in (LOSS, LOSS_CHANGE) for c in conditions if c is not None for leaf in leaves(c))


def wanted(catalog: Catalog, answers: Answers, bases: set[str], causes: list[Cause]) -> list[str]:
    """Figures that would make amounts of these bases exact, or tell these causes apart, and are not answered.

    ``bases`` are the ``per`` of the amounts in a plan. Each figure is optional.
    """
    ids: list[str] = []
    if bases & {"kg of cheese", "litre of wash", "face"}:
        ids.append(COUNT)
    if bases & {"litre of wash", "cheese in brine"}:
        ids += SIZE
    if "kg of cheese" in bases:
        ids.append(WEIGHT)
    if bases & {"litre of brine", "brine"}:
        ids.append(BRINE_LITRES)
    if bases & {"brine", "cheese in brine"}:
        ids.append(BRINE_PCT)
    if worth_weighing(catalog, causes):
        ids += [*SIZE, *WEIGHED]
    view = plain_view(catalog, answers)
    return [
        id
        for id in dict.fromkeys(ids)
        if answers.get(id) is None and id in catalog.questions and makes_sense(catalog.questions[id], view)
    ]
