"""Whether a rule speaks for a set of answers: whether anything it says is in play.

Truth is worked out by need, without a chainer or a network, so that the examples of a thousand
rules are run in a moment. It is the same three-valued truth that chaining finds.
"""

from __future__ import annotations

from collections.abc import Mapping

from ..answers import LISTED_ALL, Answers, Unusable, Value, understand
from ..catalog import Catalog
from ..conditions import View, truth
from ..errors import nearest
from ..model import Cause, Condition
from .shapes import HouseRule


def view_of(catalog: Catalog, answers: Answers) -> View:
    """What conditions look at, each fact worked out when it is asked for."""
    known: dict[tuple[str, str], bool | None] = {}

    def settle(kind: str, id: str, condition: Condition | None) -> bool | None:
        if (kind, id) not in known:
            known[(kind, id)] = None if condition is None else truth(condition, view)
        return known[(kind, id)]

    def holds(id: str) -> bool | None:
        circumstance = catalog.circumstances.get(id)
        return settle("circumstance", id, circumstance.when if circumstance else None)

    def sign(id: str) -> bool | None:
        found = catalog.signs.get(id)
        return settle("sign", id, (found.when or Condition(ask=id)) if found else None)

    view = View(answers, answers.cheese(catalog), holds, sign)
    return view


def speaks(catalog: Catalog, rule: HouseRule, answers: Answers, packaged: Catalog | None = None) -> bool:
    """Whether a rule has a say in these answers. ``packaged`` is where it finds what it switches off."""
    return _Ear(catalog, packaged or catalog, answers).hears(rule)


def told(catalog: Catalog, raw: Mapping[str, object]) -> tuple[Answers, list[tuple[str, str]]]:
    """The answers of an example, and what in it cannot be understood as (key, sentence)."""
    items: dict[str, Value] = {}
    wrong: list[tuple[str, str]] = []
    listed_all = False
    for key, value in raw.items():
        if key == LISTED_ALL:
            listed_all = str(value).casefold() in ("yes", "true")
            continue
        question = catalog.questions.get(key)
        if question is None:
            wrong.append((key, f'"{key}" is not a question{nearest(key, catalog.questions)}.'))
            continue
        try:
            items[key] = understand(question, value)
        except Unusable as problem:
            wrong.append((key, f'"{key}" {problem}.'))
    return Answers.of(items, listed_all), wrong


class _Ear:
    def __init__(self, catalog: Catalog, packaged: Catalog, answers: Answers) -> None:
        self.catalog = catalog
        self.packaged = packaged
        self.view = view_of(catalog, answers)
        self.alone = view_of(packaged, answers)

    def hears(self, rule: HouseRule) -> bool:
        """Whether any part of a rule is in play."""
        return (
            any(self.sign(s.id) for s in rule.sign)
            or any(self.view.holds(c.id) is True for c in rule.circumstance)
            or any(truth(d.when, self.view) is True for d in rule.derive)
            or any(self.cause(self.catalog.causes.get(c.id)) for c in rule.cause)
            or any(
                self.fits(x.cause) and self.view.cheese.is_one_of(x.rinds) is not False
                and self.view.cheese.in_window(x.from_day, x.to_day) is not False and self.sign(x.sign)
                for x in rule.link
            )
            or any(self.fits(x.cause) and self.view.holds(x.when) is True for x in rule.likelier)
            or any(self.fits(x.cause) and self.either(x.sign, x.when) for x in rule.against)
            or any(self.step(x) for x in rule.remedy)
            or any(self.target(x.cause, x.sign, x.when, x.circumstance, "") for x in rule.change)
            or any(self.target(x.cause, x.sign, x.when, x.circumstance, x.normal) for x in rule.off)
        )  # fmt: skip

    def sign(self, id: str) -> bool:
        """Whether a sign is there and counts on this rind at this age."""
        sign, cheese = self.catalog.signs.get(id), self.view.cheese
        if sign is None or self.view.sign(id) is not True or cheese.is_one_of(sign.rinds) is False:
            return False
        return cheese.in_window(sign.from_day, sign.to_day) is not False

    def either(self, sign: str, when: str) -> bool:
        """Whether the sign is there, or the circumstance holds: whichever is given."""
        return self.sign(sign) if sign else self.view.holds(when) is True

    def fits(self, id: str) -> bool:
        """Whether a cause can be there on this rind at this age."""
        cause, cheese = self.catalog.causes.get(id), self.view.cheese
        return (
            cause is not None
            and cheese.is_one_of(cause.rinds) is not False
            and cheese.in_window(cause.from_day, cause.to_day) is not False
        )

    def cause(self, cause: Cause | None) -> bool:
        """Whether a cause can be there and anything points to it."""
        return cause is not None and self.fits(cause.id) and (
            any(self.sign(x.sign) for x in cause.signs)
            or any(self.view.holds(x.when) is True for x in cause.likelier)
            or any(self.either(x.sign, x.when) for x in cause.against)
        )  # fmt: skip

    def step(self, step: object) -> bool:
        """Whether a step fits, for a cause that something points to."""
        only_if, unless = getattr(step, "only_if", None), getattr(step, "unless", None)
        return (
            self.cause(self.catalog.causes.get(getattr(step, "cause", "")))
            and self.view.cheese.is_one_of(getattr(step, "rinds", ())) is not False
            and (only_if is None or truth(only_if, self.view) is True)
            and (unless is None or truth(unless, self.view) is not True)
        )

    def target(self, cause: str, sign: str, when: str, circumstance: str, normal: str) -> bool:
        """Whether something packaged that is changed or switched off would have a say."""
        ear = self if self.catalog is self.packaged else _Ear(self.packaged, self.packaged, self.view.answers)
        if cause and not ear.fits(cause):
            return False
        if sign:
            return ear.sign(sign)
        if when or circumstance:
            return ear.view.holds(when or circumstance) is True
        if normal:
            row = self.packaged.normal.get(normal)
            return row is not None and any(ear.sign(s) for s in row.signs)
        return ear.cause(self.packaged.causes.get(cause))
