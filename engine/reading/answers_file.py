"""An answers file to answers, or every fault in it.

A map of question id to answer. A worked case, which keeps its answers under ``answers``, is
taken too. ``listed_all: yes`` says that everything striking has been named.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from ..answers import LISTED_ALL, Answers, Unusable, Value, understand
from ..catalog import Catalog
from ..errors import AnswersError, Fault, listed, nearest
from .nodes import Data, Path_, Read, key_place, read_yaml

MOST_FAULTS = 50
"""Lines that are no questions, of which each is told with its place."""
CASE_KEYS = {"title", "invented", "source", "strength", "story", "answers", "expect", "note"}


def read_answers(catalog: Catalog, text: str, file: str) -> Answers:
    """The answers in a text. Raises ``AnswersError`` with every fault, each with its place."""
    read = read_yaml(text, file)
    faults = list(read.faults)
    if not faults and read.empty:
        faults.append(Fault(file, 1, 1, "There is nothing here; write {} for no answers at all."))
    elif not faults and not isinstance(read.data, dict):
        faults.append(read.fault((), "Expected a map: one line per answer, such as  age_days: 18"))
    if faults or not isinstance(read.data, dict):
        raise AnswersError(faults)
    data: dict[str, Data] = read.data
    under: Path_ = ()
    if data.get("answers", {}) is None or isinstance(data.get("answers"), list):
        raise AnswersError([read.fault(("answers",), '"answers" holds no answers; expected a line for each under it.')])
    if isinstance(data.get("answers"), dict):
        faults.extend(
            Fault(file, *key_place(read, (key,)), f'"{key}" is not a key of a case{nearest(key, CASE_KEYS)}.')
            for key in islice((key for key in data if key not in CASE_KEYS), MOST_FAULTS)
        )
        under = ("answers",)
        data = data["answers"]  # type: ignore[assignment]
    items, listed_all = _items(catalog, read, data, under, faults)
    if faults:
        raise AnswersError(faults)
    return Answers.of(items, listed_all)


def _items(
    catalog: Catalog, read: Read, data: dict[str, Data], under: Path_, faults: list[Fault]
) -> tuple[dict[str, Value], bool]:
    items: dict[str, Value] = {}
    listed_all = False
    unread = 0
    for key, raw in data.items():
        path = (*under, key)
        if key == LISTED_ALL:
            if str(raw).casefold() not in ("yes", "no", "true", "false"):
                faults.append(read.fault(path, f'"{LISTED_ALL}" takes yes or no.'))
            listed_all = str(raw).casefold() in ("yes", "true")
            continue
        question = catalog.questions.get(key)
        if question is None and len(faults) >= MOST_FAULTS:
            unread += 1
            continue
        if question is None:
            place = key_place(read, path)
            faults.append(Fault(read.file, *place, f'"{key}" is not a question{nearest(key, catalog.questions)}.'))
            continue
        try:
            items[key] = understand(question, raw)
        except Unusable as problem:
            faults.append(read.fault(path, f'"{key}" {problem}.'))
    if unread:
        faults.append(Fault(read.file, 0, 0, f"{unread} more lines are no questions either."))
    faults.extend(_style_of_another_family(catalog, read, items, under))
    return items, listed_all


def _style_of_another_family(catalog: Catalog, read: Read, items: dict[str, Value], under: Path_) -> Iterator[Fault]:
    style, said = items.get("style"), items.get("family")
    family = catalog.families.get(str(said))
    if family is not None and catalog.home.get(str(style), family.id) != family.id:
        yield read.fault(
            (*under, "style"),
            f'"{style}" is a {catalog.families[catalog.home[str(style)]].name}, but "family" says {family.id}; '
            f"expected {listed([s.id for s in family.styles])}.",
        )
