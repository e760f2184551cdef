"""The nouns: what the trade knows, as plain frozen records.

Each record below is one shape of the YAML under ``knowledge/``; field names are
the keys a maker writes. Ages are whole days after salting ends (day 0), shares
are 0 to 1, temperatures are degrees Celsius, humidity is percent. A ``sources``
tuple names entries of ``sources.yaml``; the *first* one carries the claim, and
its grade is the grade of the claim.

The records hold no logic beyond small look-ups, and this module imports nothing
but the standard library, so that a cached knowledge base opens without the
validator.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

# Extra keys are faults; docstrings below a field become its text in the JSON Schema.
_CLOSED = {"extra": "forbid", "use_attribute_docstrings": True, "allow_inf_nan": False}

Frequency = Literal["almost never", "rarely", "sometimes", "often", "usually", "nearly always"]
Strength = Literal["small", "moderate", "strong"]
BaseRate = Literal["rare", "occasional", "common"]
HowCommon = Literal["few makers", "some makers", "many makers", "most makers"]
CauseKind = Literal["fault", "takeover"]
Level = Literal["stop", "hold", "note"]
Hardness = Literal["soft", "semi soft", "semi hard", "hard"]
AnswerKind = Literal["scale", "yes_no", "one_of", "some_of", "number"]
About = Literal["look", "feel", "smell", "taste", "measure", "memory", "who"]
Effort = Literal["glance", "touch", "test", "measure", "cut", "look up"]
SourceKind = Literal[
    "paper",
    "review",
    "handbook",
    "standard",
    "law",
    "authority",
    "extension",
    "web",
    "practice",
    "memory",
    "house",
]
Checked = Literal["seen", "seen second-hand", "title only", "memory"]
Moves = Literal[
    "salt up",
    "salt down",
    "humidity up",
    "humidity down",
    "temperature up",
    "temperature down",
    "washing more",
    "washing less",
    "brushing more",
    "brushing less",
    "air up",
    "acid up",
    "acid down",
]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a claim comes from, and how far that was checked."""

    __pydantic_config__ = _CLOSED
    id: str
    reference: str
    """Author, work, place: as a reader would look it up."""
    kind: SourceKind
    checked: Checked
    """`seen`: a passage stating the fact was read; `title only`: it exists; `memory`: not looked up."""
    year: str = ""
    link: str = ""
    note: str = ""
    """What limits it: second-hand, another kind of cheese, one plant."""


@dataclass(frozen=True, slots=True)
class Condition:
    """A test on answers: one atom, or a combination of others.

    Exactly one of ``ask``, ``unanswered``, ``dont_know``, ``holds``, ``sign``, ``rind``, ``may_be``,
    ``paste``, ``all``, ``any``, ``none`` is given.
    Limits (``below``, ``at_least`` ...) belong to ``ask`` of a number, ``one_of`` to ``ask`` of
    words. Truth is three-valued: what is not known stays unknown.
    """

    __pydantic_config__ = _CLOSED
    ask: str = ""
    """A question id."""
    one_of: tuple[str, ...] = ()
    """Answers that make it true: option ids, or yes, no, clear, slight."""
    below: float | None = None
    at_most: float | None = None
    above: float | None = None
    at_least: float | None = None
    holds: str = ""
    """A circumstance id: true when it is known to hold."""
    unanswered: str = ""
    """A question id: true when it was not asked, skipped or answered "don't know"."""
    dont_know: str = ""
    """A question id: true when it was put and the maker did not know."""
    sign: str = ""
    """A sign id: true when the sign is there."""
    rind: tuple[str, ...] = ()
    """Families, groups or styles of rind."""
    may_be: tuple[str, ...] = ()
    """Families, groups or styles: true as long as the answers leave one of them open."""
    paste: tuple[Hardness, ...] = ()
    """Hardness of the paste: true as long as the answers leave one of these open."""
    all: tuple[Condition, ...] = ()
    any: tuple[Condition, ...] = ()
    none: tuple[Condition, ...] = ()


@dataclass(frozen=True, slots=True)
class Option:
    """One answer of a choice."""

    __pydantic_config__ = _CLOSED
    id: str
    text: str
    words: tuple[str, ...] = ()
    """What makers say for it."""
    rinds: tuple[str, ...] = ()
    """Offered only for these families, groups or styles; empty: for all."""


@dataclass(frozen=True, slots=True)
class Question:
    """Something the tool asks. Every question may be answered "don't know"."""

    __pydantic_config__ = _CLOSED
    id: str
    ask: str
    """The question as read aloud. `{rind}` stands for the family's own word (the smear, the bloom)."""
    kind: AnswerKind
    """`scale`: no, slight, clear. `yes_no`. `one_of` and `some_of`: options. `number`: with a unit."""
    about: About
    """What answers it; sets how often such answers are wrong."""
    effort: Effort
    how: str = ""
    """How to look, smell or measure; and what it does not prove."""
    why: str = ""
    options: tuple[Option, ...] = ()
    unit: str = ""
    minimum: float | None = None
    maximum: float | None = None
    rinds: tuple[str, ...] = ()
    """Asked only for these families, groups or styles; empty: for all."""
    from_day: int = 0
    to_day: int | None = None
    ask_if: Condition | None = None
    """Asked only when this is known to hold."""
    worked_out: bool = False
    """Never asked: worked out from other answers or from a logger's file. It may still be given in a file."""
    tasting: bool = False
    """Involves tasting: never offered while a stop or a hold stands or cannot be ruled out."""
    screen: bool = False
    """Part of the safety screen: asked before anything is weighed, in the order of its file. Skipping it
    counts as "don't know"."""
    block: str = ""
    """Questions of one block are put on one screen, to be answered in one line. Only for yes_no."""
    topic: str = ""
    """What it is about, in a list: "illness after eating". A question of the screen has one."""
    words: tuple[str, ...] = ()
    """For yes_no: what makers say when the answer is yes."""


@dataclass(frozen=True, slots=True)
class SoundRate:
    """How often a sign shows on a sound rind, for some rinds and ages; the last that fits counts."""

    __pydantic_config__ = _CLOSED
    seen: Frequency
    sources: tuple[str, ...]
    rinds: tuple[str, ...] = ()
    from_day: int = 0
    to_day: int | None = None


@dataclass(frozen=True, slots=True)
class Sign:
    """Something seen, smelt, felt or measured on the cheese: there, not there, or unknown."""

    __pydantic_config__ = _CLOSED
    id: str
    name: str
    """Short, as it reads in a list: "blue or green dots"."""
    on_sound_rinds: tuple[SoundRate, ...]
    when: Condition | None = None
    """The answer that shows it; left out: `clear`, `slight` or `yes` to the question of the same id."""
    words: tuple[str, ...] = ()
    """What makers say for it, in everyday words."""
    salient: bool = False
    """So striking that a maker who has listed everything would have named it."""
    healthy: bool = False
    """Speaks for health: its presence lowers every cause, its absence raises them a little."""
    spared_by: tuple[str, ...] = ()
    """For a healthy sign: causes that leave it as it is."""
    rinds: tuple[str, ...] = ()
    from_day: int = 0
    """Before this age it says nothing either way."""
    to_day: int | None = None
    from_due_day: bool = False
    """Counts only from the day the rind that was meant is due to show on this style."""


@dataclass(frozen=True, slots=True)
class Circumstance:
    """A fact of the process, derived from answers by forward chaining."""

    __pydantic_config__ = _CLOSED
    id: str
    means: str
    """A plain statement: "the air around the cheese is below 85 % humidity"."""
    when: Condition
    how_common: HowCommon
    """For how many makers it holds."""
    sources: tuple[str, ...]
    """Where the limit comes from."""


@dataclass(frozen=True, slots=True)
class Shift:
    """A circumstance that makes a cause likelier."""

    __pydantic_config__ = _CLOSED
    when: str
    """A circumstance id."""
    strength: Strength
    sources: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Against:
    """A sign or a circumstance that speaks against a cause when it is there."""

    __pydantic_config__ = _CLOSED
    strength: Strength
    sources: tuple[str, ...]
    sign: str = ""
    when: str = ""
    """A circumstance id; give this or `sign`."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Link:
    """How often a sign shows when the cause is there, in the right rind and at the right age."""

    __pydantic_config__ = _CLOSED
    sign: str
    seen: Frequency
    sources: tuple[str, ...]
    rinds: tuple[str, ...] = ()
    """Only on these; empty: wherever the cause applies."""
    from_day: int = 0
    to_day: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Feed:
    """Another cause that this one brings about."""

    __pydantic_config__ = _CLOSED
    cause: str
    strength: Strength
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LookAlike:
    """A cause this one is taken for, and how to tell."""

    __pydantic_config__ = _CLOSED
    cause: str
    tell: str
    sources: tuple[str, ...]
    question: str = ""
    """The question that separates the two best."""


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity that the plan works out for the cheese in hand."""

    __pydantic_config__ = _CLOSED
    what: str
    low: float
    high: float
    unit: Literal["g", "mL", "%"]
    per: Literal["kg of cheese", "litre of wash", "face", "litre of brine", "brine", "cheese in brine"]
    """`brine`: the strength, percent by weight, to bring a salting brine to. `cheese in brine`: the salt a
    cheese is to take up, percent of its weight, from which the time in the brine follows. Both in `%`."""


@dataclass(frozen=True, slots=True)
class Step:
    """One act of a remedy."""

    __pydantic_config__ = _CLOSED
    act: str
    """An act of `remedies.yaml`; brings its hygiene lines."""
    do: str
    sources: tuple[str, ...]
    amount: Amount | None = None
    moves: tuple[Moves, ...] = ()
    """Which way it pushes the process; steps that push opposite ways are not shown together."""
    rinds: tuple[str, ...] = ()
    only_if: Condition | None = None
    unless: Condition | None = None


@dataclass(frozen=True, slots=True)
class LookAgain:
    """When to look again, and what should be seen if the step worked."""

    __pydantic_config__ = _CLOSED
    after_days: int
    expect: str
    otherwise: str = ""


@dataclass(frozen=True, slots=True)
class ShowsAfter:
    """How long a cause is at work before anything can be seen of it."""

    __pydantic_config__ = _CLOSED
    days: int
    """The fewest days that it commonly needs."""
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cause:
    """A fault of the process, or a takeover: what has grown or formed because of faults."""

    __pydantic_config__ = _CLOSED
    id: str
    kind: CauseKind
    name: str
    what: str
    """The mechanism, in words to read aloud."""
    sources: tuple[str, ...]
    rinds: tuple[str, ...]
    base_rate: BaseRate
    base_rate_sources: tuple[str, ...]
    from_day: int = 0
    to_day: int | None = None
    shows_after: ShowsAfter | None = None
    """Dates it: what was first seen on some day was at work this many days before."""
    likelier: tuple[Shift, ...] = ()
    signs: tuple[Link, ...] = ()
    against: tuple[Against, ...] = ()
    leads_to: tuple[Feed, ...] = ()
    mistaken_for: tuple[LookAlike, ...] = ()
    today: tuple[Step, ...] = ()
    next_make: tuple[Step, ...] = ()
    look_again: LookAgain | None = None
    cautions: tuple[str, ...] = ()
    """Cautions this cause adds; it can never take one away."""
    organisms: tuple[str, ...] = ()
    limits: str = ""
    """What is not known about it."""
    replaced_by: str = ""
    """For a retired cause: the one that took its place. Ids are never used again."""


@dataclass(frozen=True, slots=True)
class Normal:
    """Something beginners take for a fault that is normal at this age."""

    __pydantic_config__ = _CLOSED
    id: str
    name: str
    signs: tuple[str, ...]
    """Signs it accounts for; any of them, at this age, is no evidence of a fault."""
    rinds: tuple[str, ...]
    why: str
    fault_when: str
    """What turns it into a fault."""
    sources: tuple[str, ...]
    from_day: int = 0
    to_day: int | None = None
    until_due_day: bool = False
    """Normal until the day the rind that was meant is due to show on this style."""
    only_if: Condition | None = None


@dataclass(frozen=True, slots=True)
class Act:
    """A kind of handling, with the hygiene it always needs."""

    __pydantic_config__ = _CLOSED
    id: str
    name: str
    hygiene: tuple[str, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Caution:
    """A safety result. It runs before everything else and nothing can silence it.

    Cautions of one level are shown in the order of their files.
    """

    __pydantic_config__ = _CLOSED
    id: str
    level: Level
    title: str
    text: str
    when: Condition
    sources: tuple[str, ...]
    do: tuple[str, ...] = ()
    touched: str = ""
    """For a stop: what to do with whatever it touched."""
    test: str = ""
    """For a hold: which test a laboratory makes, or who has to be asked."""
    sample: str = ""
    """For a hold: what to send or have ready."""
    while_waiting: str = ""
    """For a hold: what to do, and not to do, until the answer is in."""
    differs: str = ""
    """Where advice differs: what each side says, and why the stricter is shown here."""
    urgent: bool = False
    """For a note: a danger to a person, printed at the top."""
    no_tasting: bool = False
    """For a note: no question that involves tasting is put while it stands. Stops and holds have that anyway."""


@dataclass(frozen=True, slots=True)
class Organism:
    """What lives or forms on rinds, as far as eye, nose and a lens can tell."""

    __pydantic_config__ = _CLOSED
    id: str
    name: str
    group: str
    """What the tool may claim by eye: a group, not a species."""
    see: str
    sources: tuple[str, ...]
    limits: str = ""
    test: str = ""
    harm: str = ""
    mistaken_for: tuple[str, ...] = ()
    wanted: bool = False


@dataclass(frozen=True, slots=True)
class Style:
    """A make within a family: it sets the days and figures of the normal course."""

    __pydantic_config__ = _CLOSED
    id: str
    name: str
    group: str
    """Group of styles that behave alike: one group of a family, or several."""
    hardness: Hardness
    salting_ends_day: int
    """Days from renneting to the end of salting, which is day 0 of every other count."""
    shows_by_day: int
    """Day by which the rind that was meant should begin to show: a tint, a down, a felt, blue at the
    holes; where nothing is meant to grow, a face that is dry to the touch."""
    closed_by_day: int
    """Day by which it should cover the cheese: a closed colour, a whole bloom, a firm dry skin, a coat."""
    ready_day: int
    """Day from which the style is usually ready."""
    course: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Family:
    """A kind of rind that was meant."""

    __pydantic_config__ = _CLOSED
    id: str
    name: str
    noun: str
    """What the living rind is called here: "the smear"."""
    styles: tuple[Style, ...]
    course: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Word:
    """A word of a scale with its number, and the band that holds it in nine cases of ten."""

    __pydantic_config__ = _CLOSED
    word: str
    value: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale of words."""

    __pydantic_config__ = _CLOSED
    id: str
    means: str
    words: tuple[Word, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AnswerNoise:
    """How answers go wrong, by what they are about: shares of makers, 0 to 1."""

    __pydantic_config__ = _CLOSED
    about: About
    missed: float
    """Says no although the sign is there."""
    slight_if_there: float
    """Says slight although the sign is there (scales only)."""
    imagined: float
    """Says clear or yes although it is not there."""
    slight_if_not: float
    """Says slight although it is not there (scales only)."""


@dataclass(frozen=True, slots=True)
class Words:
    """Every number behind a word."""

    __pydantic_config__ = _CLOSED
    scales: tuple[Scale, ...]
    answer_noise: tuple[AnswerNoise, ...]
    answer_noise_sources: tuple[str, ...]
    one_sense: tuple[tuple[str, ...], ...] = ()
    """Everyday words of one sense, which count as one where a maker's words fit no phrase of the knowledge."""


@dataclass(frozen=True, slots=True)
class HouseMark:
    """A house rule in force: whose it is, since when and why, and what it does to the packaged knowledge."""

    rule: str
    owner: str
    date: str
    """The day it was written down, as 2026-11-27."""
    because: str
    adds: tuple[str, ...] = ()
    """What it adds, each as kind and ids: "sign red_dust", "link box_too_wet red_dust"."""
    changes: tuple[str, ...] = ()
    """Packaged words it changes, with the new word: "link box_too_wet slimy_wet to often"."""
    switches_off: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Knowledge:
    """All that is known, read and checked. ``version`` is a hash of the packaged files it came from.

    Where house rules are layered over it, ``house`` names those in force, ``house_version`` is their
    hash, and ``beneath`` is the packaged knowledge as it was.
    """

    words: Words
    families: tuple[Family, ...]
    questions: tuple[Question, ...]
    signs: tuple[Sign, ...]
    circumstances: tuple[Circumstance, ...]
    causes: tuple[Cause, ...]
    normal: tuple[Normal, ...]
    acts: tuple[Act, ...]
    cautions: tuple[Caution, ...]
    organisms: tuple[Organism, ...]
    sources: tuple[Source, ...]
    version: str = field(default="", compare=False)
    house: tuple[HouseMark, ...] = ()
    house_version: str = ""
    beneath: object = field(default=None, compare=False, repr=False)
    """The ``Knowledge`` below the house rules; None without any. Never written to a cache."""
