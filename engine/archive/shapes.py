"""The records of an exchanged archive, as the checker and the JSON Schema see them.

Opened only for imports, since it needs the validator. Everything is bounded: a file from elsewhere can at worst
be refused.
"""

from __future__ import annotations

import math
import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, TypeAdapter, model_validator

from ..days import is_day
from ..local import BASE_CAP
from .texts import MOST_MEASURED, MOST_WORDS, NAME, TEXT, WORDS, is_plain


def _day(text: str) -> str:
    if not is_day(text):
        raise ValueError("expected a date such as 2026-10-31")
    return text


def _plain(text: str) -> str:
    if not is_plain(text):
        raise ValueError("holds a character that cannot be shown")
    return text


_ID, _UID, _HASH, _DIGEST = r"^[a-z0-9][a-z0-9_]{0,79}$", r"^[0-9a-f]{24}$", r"^[0-9a-f]{0,64}$", r"^[0-9a-f]{32}$"
_MOMENT = r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2}(\.\d+)?)?([+-]\d{2}:\d{2}(:\d{2})?|Z)?$"
_EXPECTED = {
    _ID: "an id: up to 80 small letters, digits and underscores, such as box_too_wet",
    _UID: "24 of the characters 0 to 9 and a to f",
    _HASH: "up to 64 of the characters 0 to 9 and a to f",
    _DIGEST: "32 of the characters 0 to 9 and a to f",
    _MOMENT: "a day and a time such as 2026-10-31T08:30",
}
"""Each pattern in the words of a person."""
Id = Annotated[str, Field(pattern=_ID)]
Uid = Annotated[str, Field(pattern=_UID)]
Day = Annotated[str, Field(max_length=10), AfterValidator(_day)]
Moment = Annotated[str, Field(pattern=_MOMENT)]
Name = Annotated[str, Field(min_length=1, max_length=NAME), AfterValidator(_plain)]
Words = Annotated[str, Field(max_length=WORDS), AfterValidator(_plain)]
Text = Annotated[str, Field(max_length=TEXT), AfterValidator(_plain)]
Share = Annotated[float, Field(ge=0, le=1)]
Number = Annotated[float, Field(allow_inf_nan=False)]
Value = (
    Annotated[str, Field(max_length=200), AfterValidator(_plain)] | Number | Annotated[list[Id], Field(max_length=60)]
)
Verdict = Literal["stop", "hold", "normal", "causes", "undecided"]


_PLACED = re.compile(r"[a-z0-9][a-z0-9_]{0,79} [0-9]{1,4}")
"""A sign, and the place of one of its links or rates."""


class _Closed(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class RuleKept(_Closed):
    """A house rule behind something."""

    rule: Id
    owner: Words
    date: Day


Rules = Annotated[list[RuleKept], Field(max_length=100)]


class ReasonKept(_Closed):
    """One reason."""

    by: Id
    says: Words
    log_odds: Number
    house: Rules = []


class CauseKept(_Closed):
    """One ranked cause."""

    id: Id
    title: Words
    probability: Share
    low: Share
    high: Share
    word: Words
    for_: Annotated[list[ReasonKept], Field(alias="for", max_length=20)]
    against: Annotated[list[ReasonKept], Field(max_length=20)]
    house: Rules = []


class CautionKept(_Closed):
    """One caution that stood."""

    id: Id
    level: Literal["stop", "hold", "note"]
    title: Words


class StepKept(_Closed):
    """One step of that day's advice."""

    do: Words
    act: Words
    amount: Words
    causes: Annotated[list[Id], Field(max_length=50)]
    house: Rules = []


class NextKept(_Closed):
    """One step for the next make."""

    do: Words
    amount: Words
    causes: Annotated[list[Id], Field(max_length=50)]
    house: Rules = []


class AgainKept(_Closed):
    """When to look again."""

    after_days: Annotated[int, Field(ge=0, le=10_000)]
    expect: Words
    otherwise: Words
    house: Rules = []


class NormalKept(_Closed):
    """How likely it was that nothing was wrong."""

    probability: Share
    rows: Annotated[list[Id], Field(max_length=100)]


class WeighedKept(_Closed):
    """The diagnosis as it was told then."""

    knowledge: Annotated[str, Field(max_length=200), AfterValidator(_plain)]
    house: Annotated[str, Field(pattern=_HASH)] = ""
    """Hash of the house rules in force; empty without any."""
    local: Annotated[str, Field(pattern=_HASH)]
    verdict: Verdict
    family: Id | None
    style: Id | None
    week: Annotated[int, Field(ge=0, le=20_000)] | None
    cautions: Annotated[list[CautionKept], Field(max_length=100)]
    causes: Annotated[list[CauseKept], Field(max_length=300)]
    normal: NormalKept
    unknown_cause: Share
    today: Annotated[list[StepKept], Field(max_length=50)]
    next_make: Annotated[list[NextKept], Field(max_length=50)]
    look_again: AgainKept | None
    approximate: bool
    signs: Annotated[dict[Id, Literal["there", "not there"]], Field(max_length=2_000)]
    holds: Annotated[dict[Id, bool], Field(max_length=2_000)]


class FollowUpKept(_Closed):
    """When the cheese was to be looked at again."""

    due_on: Day
    expect: Words
    otherwise: Words
    done_on: Day | None
    result: Words | None


class DeedKept(_Closed):
    """Something that was done."""

    on_date: Day
    what: Words
    act: Words


class OutcomeKept(_Closed):
    """What it turned out to be; ``complete``: every other cause is excluded."""

    on_date: Day
    causes: Annotated[list[Id], Field(max_length=50)]
    known_by: Literal["laboratory", "lens", "remedy worked", "own view"]
    complete: bool
    taste: Literal["good", "fair", "poor", "not tasted"]


class NoteKept(_Closed):
    """A free note."""

    on_date: Day
    text: Text


class _Record(_Closed):
    uid: Uid
    revision: Annotated[int, Field(ge=0, le=1_000_000_000)]
    digest: Annotated[str, Field(pattern=_DIGEST)] | None = None
    """Left out: the record was written by hand."""


class LookKept(_Record):
    """One look at one cheese on one day."""

    kind: Literal["look"]
    name: Name
    looked_on: Day
    opened_at: Moment
    changed_at: Moment
    finished: bool
    family: Id | None
    style: Id | None
    age_days: Annotated[float, Field(ge=0, le=100_000)] | None
    verdict: Verdict | None
    first_cause: Id | None
    first_probability: Share | None
    knowledge: Annotated[str, Field(max_length=200), AfterValidator(_plain)] | None
    wheel: Uid | None
    answers: Annotated[list[tuple[Id, Value, Day | None]], Field(max_length=1_000)]
    """Question, answer, and the day it was carried over from."""
    skipped: Annotated[list[Id], Field(max_length=2_000)]
    words: Annotated[list[Text], Field(max_length=MOST_WORDS)]
    measured: Annotated[list[Text], Field(max_length=MOST_MEASURED)]
    listed_all: bool
    noticed: bool
    weighed: WeighedKept | None
    follow_up: FollowUpKept | None
    deeds: Annotated[list[DeedKept], Field(max_length=2_000)]
    outcomes: Annotated[list[OutcomeKept], Field(max_length=500)]
    notes: Annotated[list[NoteKept], Field(max_length=2_000)]

    @model_validator(mode="before")
    @classmethod
    def _lists_are_tuples(cls, data: Any) -> Any:
        # JSON knows no tuples, and strict mode takes no list for one.
        if isinstance(data, dict) and isinstance(data.get("answers"), list):
            rows = [tuple(a) if isinstance(a, list) else a for a in data["answers"]]
            return {**data, "answers": rows}
        return data

    @model_validator(mode="after")
    def _whole(self) -> LookKept:
        if self.finished and self.weighed is None:
            raise ValueError("a finished look needs its diagnosis under weighed")
        if self.weighed is None and (self.verdict, self.first_cause, self.first_probability) != (None, None, None):
            raise ValueError("a verdict and a first cause come with the diagnosis under weighed")
        asked = [question for question, _, _ in self.answers]
        if len(set(asked)) != len(asked):
            raise ValueError("a question is answered twice")
        return self


class CultureKept(_Closed):
    """A culture that went in."""

    species: Words
    amount: Words


class WheelKept(_Closed):
    """A wheel of a make."""

    uid: Uid
    name: Name


class FactKept(_Closed):
    """Something known or planned of a make."""

    question: Id
    value: Value
    on_date: Day
    planned: bool


class MakeKept(_Record):
    """One make and its wheels."""

    kind: Literal["make"]
    name: Name
    opened_at: Moment
    family: Id | None
    style: Id | None
    made_on: Day | None
    salting_ended_on: Day | None
    milk: Words
    salt: Words
    cultures: Annotated[list[CultureKept], Field(max_length=100)]
    wheels: Annotated[list[WheelKept], Field(max_length=2_000)]
    facts: Annotated[list[FactKept], Field(max_length=5_000)]
    notes: Annotated[list[NoteKept], Field(max_length=2_000)]


class CorrectionKept(_Closed):
    """One corrected number beside the cited one."""

    kind: Literal["base", "link", "leak"]
    cause: Words
    sign: Words
    word: Words
    cited: Share
    local: Annotated[float, Field(gt=0, lt=1)]
    seen: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    of: Annotated[float, Field(ge=0, allow_inf_nan=False)]


class LessonKept(_Closed):
    """What was learnt in one step."""

    corrections: Annotated[list[CorrectionKept], Field(max_length=20_000)]
    shifts: Annotated[
        dict[Id, Annotated[float, Field(ge=-BASE_CAP - 1e-6, le=BASE_CAP + 1e-6)]], Field(max_length=5_000)
    ]
    before: Annotated[float, Field(allow_inf_nan=False)]
    after: Annotated[float, Field(allow_inf_nan=False)]

    @model_validator(mode="after")
    def _whole(self) -> LessonKept:
        for c in self.corrections:
            if c.kind == "base" and c.cause not in self.shifts:
                raise ValueError(f'the corrected base rate of "{c.cause}" has no shift')
            if c.kind != "base" and not _PLACED.fullmatch(c.sign):
                raise ValueError(f'"{c.sign}" does not name a sign and a place')
            if math.isnan(c.local):
                raise ValueError("a corrected number is none")
        return self


class LearntKept(_Record):
    """One step of learning."""

    kind: Literal["learnt"]
    at: Moment
    knowledge: Annotated[str, Field(max_length=200), AfterValidator(_plain)]
    looks: Annotated[int, Field(ge=0, le=100_000_000)]
    body: LessonKept
    withdrawn_at: Moment | None


AnyRecord = Annotated[LookKept | MakeKept | LearntKept, Field(discriminator="kind")]
LINE: TypeAdapter[LookKept | MakeKept | LearntKept] = TypeAdapter(AnyRecord)


def said(error: dict[str, Any]) -> str:
    """What the checker found wrong, in the words of a person."""
    if error["type"] == "string_pattern_mismatch":
        wanted = _EXPECTED.get(error["ctx"]["pattern"], "another form")
        shown = str(error["input"])
        return f'"{shown[:40]}{"..." if len(shown) > 40 else ""}" will not do; expected {wanted}'
    if error["type"] == "extra_forbidden":
        return "this key is not known here"
    if error["type"] == "missing":
        return "this key is missing"
    message: str = error["msg"]
    return message.removeprefix("Value error, ")
