"""Numbers that no shape can check: shares are shares, bands hold their value, windows and days run forward."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Protocol

from ...catalog import Catalog
from ...model import Cause, Scale, Word
from ..loader import Loaded
from ..nodes import Path_

FAULTS_PER_CHEESE = (0.25, 1.5)
"""Where the base rates of a style's causes may add up to, as faults per cheese asked about: least under a coat,
which keeps most of them away."""
MOST_PER = {
    "kg of cheese": 40, "litre of wash": 100, "face": 50, "litre of brine": 10, "brine": 26, "cheese in brine": 4
}  # fmt: skip
"""Most that any page may ask for, in g, mL or percent: judgement, no source. Far below it lies every figure in use."""
_PERCENT = ("brine", "cheese in brine")
LONGEST_WAIT_DAYS = 60
LONGEST_LEAD_DAYS = 120
_SHARES = ("frequency", "feeding", "base_rate", "how_common", "probability")


def scales_run_upward(loaded: Loaded) -> None:
    """Words of a scale rise, shares lie between 0 and 1, strengths are above 1, bands hold their value."""
    for n, scale in enumerate(loaded.knowledge.words.scales):
        for m, word in enumerate(scale.words):
            for key, sentence in _wrong_word(scale, word):
                loaded.fault("words", "words", ("scales", n, "words", m, key), sentence)
        for m, (a, b) in enumerate(pairwise(scale.words)):
            if b.value <= a.value:
                loaded.fault("words", "words", ("scales", n, "words", m + 1, "value"),
                             f'"{b.word}" must be more than "{a.word}" before it.')  # fmt: skip


def _wrong_word(scale: Scale, word: Word) -> Iterator[tuple[str, str]]:
    if scale.id in _SHARES and not 0 < word.value < 1:
        yield "value", f'"{word.word}" must be a share between 0 and 1; it is {word.value:g}.'
    if scale.id == "strength" and word.value <= 1:
        yield "value", f'"{word.word}" must be above 1, or it moves nothing; it is {word.value:g}.'
    if scale.id == "effort" and word.value <= 0:
        yield "value", f'"{word.word}" must be above 0; it is {word.value:g}.'
    if (word.low is None) != (word.high is None):
        yield ("low" if word.high is None else "high"), f'"{word.word}" needs both ends of its band, or none.'
    elif word.low is not None and word.high is not None and not word.low < word.value < word.high:
        yield "low", f'The band of "{word.word}" must hold its value: {word.low:g}, {word.value:g}, {word.high:g}.'


def noise_is_small(loaded: Loaded) -> None:
    """Answers are right more often than wrong."""
    for n, noise in enumerate(loaded.knowledge.words.answer_noise):
        for key in ("missed", "slight_if_there", "imagined", "slight_if_not"):
            if not 0 < getattr(noise, key) < 0.5:
                loaded.fault("words", "words", ("answer_noise", n, key),
                             f'"{key}" for "{noise.about}" must lie between 0 and 0.5.')  # fmt: skip
        for first, second in (("missed", "slight_if_there"), ("imagined", "slight_if_not")):
            if getattr(noise, first) + getattr(noise, second) >= 0.5:
                loaded.fault("words", "words", ("answer_noise", n, first),
                             f'"{first}" and "{second}" for "{noise.about}" together must stay below 0.5.')  # fmt: skip


def windows_run_forward(loaded: Loaded) -> None:
    """No window begins before day 0 or ends before it begins."""
    k = loaded.knowledge
    for kind in ("questions", "signs", "causes", "normal"):
        for entry in getattr(k, kind):
            _forward(loaded, kind, entry.id, (), entry)
    for cause in k.causes:
        for n, link in enumerate(cause.signs):
            _forward(loaded, "causes", cause.id, ("signs", n), link)
        _links_fall_inside(loaded, cause)
    for sign in k.signs:
        for n, rate in enumerate(sign.on_sound_rinds):
            _forward(loaded, "signs", sign.id, ("on_sound_rinds", n), rate)


class _Window(Protocol):
    @property
    def from_day(self) -> int: ...
    @property
    def to_day(self) -> int | None: ...


def _forward(loaded: Loaded, kind: str, id: str, path: Path_, window: _Window) -> None:
    if window.from_day < 0:
        loaded.fault(kind, id, (*path, "from_day"), f'A window of "{id}" begins before day 0.')
    if window.to_day is not None and window.to_day < window.from_day:
        loaded.fault(kind, id, (*path, "to_day"), f'A window of "{id}" ends before it begins.')


def _links_fall_inside(loaded: Loaded, cause: Cause) -> None:
    for n, link in enumerate(cause.signs):
        early = link.to_day is not None and link.to_day < cause.from_day
        late = cause.to_day is not None and link.from_day > cause.to_day
        if early or late:
            loaded.fault("causes", cause.id, ("signs", n), f'The days of "{link.sign}" lie outside those of its cause.')


def days_and_amounts_make_sense(loaded: Loaded) -> None:
    """Look again within two months; amounts are in order and in reason."""
    for cause in loaded.knowledge.causes:
        lead = cause.shows_after
        if lead is not None and not 1 <= lead.days <= LONGEST_LEAD_DAYS:
            loaded.fault(
                "causes",
                cause.id,
                ("shows_after", "days"),
                f"A cause shows after 1 to {LONGEST_LEAD_DAYS} days; this says {lead.days}.",
            )
        look = cause.look_again
        if look is not None and not 1 <= look.after_days <= LONGEST_WAIT_DAYS:
            loaded.fault("causes", cause.id, ("look_again", "after_days"),
                         f"Look again after 1 to {LONGEST_WAIT_DAYS} days; this says {look.after_days}.")  # fmt: skip
        for part in ("today", "next_make"):
            for n, step in enumerate(getattr(cause, part)):
                amount = step.amount
                if amount is not None and not 0 <= amount.low <= amount.high <= MOST_PER[amount.per]:
                    loaded.fault("causes", cause.id, (part, n, "amount"),
                                 f"An amount runs from low to high, up to {MOST_PER[amount.per]:g} {amount.unit} per "
                                 f"{amount.per}; this says {amount.low:g} to {amount.high:g}.")  # fmt: skip
                if amount is not None and (amount.unit == "%") != (amount.per in _PERCENT):
                    loaded.fault("causes", cause.id, (part, n, "amount", "unit"),
                                 f'The unit "{amount.unit}" does not go with "{amount.per}"; percent goes with '
                                 f"{' and '.join(_PERCENT)} alone.")  # fmt: skip


def styles_ripen_in_order(loaded: Loaded) -> None:
    """The rind is due to show before it is due to close, and that before the cheese is ready."""
    for family in loaded.knowledge.families:
        for n, style in enumerate(family.styles):
            if not 0 < style.shows_by_day <= style.closed_by_day <= style.ready_day:
                loaded.fault("families", family.id, ("styles", n),
                             f'"{style.id}" needs its days in order: shows_by, closed_by, ready.')  # fmt: skip


def number_questions_have_limits(loaded: Loaded) -> None:
    """A number is asked with its unit and the least and most it can be."""
    for q in loaded.knowledge.questions:
        if q.kind != "number":
            if q.unit or q.minimum is not None or q.maximum is not None:
                loaded.fault("questions", q.id, (), f'"{q.id}" is no number; it takes no unit and no limits.')
        elif not q.unit or q.minimum is None or q.maximum is None or q.minimum >= q.maximum:
            loaded.fault("questions", q.id, (), f'"{q.id}" needs a unit, a minimum, and a maximum above it.')


def the_first_rate_holds_everywhere(loaded: Loaded) -> None:
    """It is what counts when no other fits, so it must not be bound to a rind or an age."""
    for sign in loaded.knowledge.signs:
        first = sign.on_sound_rinds[0] if sign.on_sound_rinds else None
        if first is None or first.rinds or first.from_day or first.to_day is not None:
            loaded.fault("signs", sign.id, ("on_sound_rinds",),
                         f'"{sign.id}" needs a first rate on sound rinds without rinds and days.')  # fmt: skip


def names_are_given(loaded: Loaded) -> None:
    """Nothing that is shown by name goes without one."""
    for kind in ("families", "signs", "causes", "normal", "acts", "organisms"):
        for entry in getattr(loaded.knowledge, kind):
            if not entry.name.strip():
                loaded.fault(kind, entry.id, ("name",), f'"{entry.id}" has an empty name.')
    for row in loaded.knowledge.normal:
        if not row.rinds:
            loaded.fault("normal", row.id, ("rinds",), f'"{row.id}" names no rinds: it would fit none.')


def base_rates_add_up(loaded: Loaded) -> None:
    """All causes of a style together come to a sensible number of faults per cheese."""
    if not loaded.knowledge.causes or loaded.faults:
        return
    catalog = Catalog(loaded.knowledge)
    low, high = FAULTS_PER_CHEESE
    for style in catalog.styles.values():
        family = next(f for f in catalog.families.values() if style in f.styles)
        names = {family.id, style.group, style.id}
        total = sum(
            catalog.value("base_rate", c.base_rate) for c in catalog.causes.values() if not names.isdisjoint(c.rinds)
        )
        if not low <= total <= high:
            loaded.fault("families", family.id, (),
                         f'Base rates for "{style.id}" add up to {total:.2f} faults per cheese; '
                         f"expected {low:g} to {high:g}.")  # fmt: skip


RULES: tuple[Callable[[Loaded], None], ...] = (
    scales_run_upward,
    noise_is_small,
    windows_run_forward,
    days_and_amounts_make_sense,
    styles_ripen_in_order,
    number_questions_have_limits,
    the_first_rate_holds_everywhere,
    names_are_given,
    base_rates_add_up,
)
