"""What the maker says in their own words, shown back before it counts."""

from __future__ import annotations

from collections.abc import Callable

from ...engine.catalog import Catalog
from ...engine.gates import FIRST
from ...engine.house.voices import of_question
from ...engine.noticing import readings, taking
from ..house_words import tag
from .look import Look
from .replies import picked
from .talk import Talk

_ALL, _MORE, _UNSURE = "yes, everything", "no, more to say", "not sure"


def notice(catalog: Catalog, look: Look, talk: Talk, review: Callable[[], bool]) -> None:
    """Ask what strikes the maker; readings that they confirm become answers. ``review`` lists the answers so far."""
    pen = talk.pen
    pen.line()
    pen.line("What do you notice? In your own words, several things at once. An empty line goes on.", "bold")
    typed = talk.prompt()
    if typed.casefold() == "list":
        review()
        return
    if not typed or typed.casefold() == "skip":
        look.noticed = True
        look.save()
        return
    look.words.append(typed)
    heard = [r for r in readings(catalog, typed) if r.question not in FIRST]  # those are answered by now
    if not heard:
        pen.line("I know none of these words. Try others, or an empty line to be asked instead.")
        look.noticed = len(look.words) >= 2
        look.save()
        return
    pen.line("I understood:")
    for k, reading in enumerate(heard, 1):
        said = reading.says + tag(of_question(catalog, reading.question))
        pen.item(f"  {k}. ", f'{said} (you said "{reading.heard}")')
    pen.line("Which of these are right? all, none, or their numbers.")
    right = picked(talk.prompt().casefold(), len(heard))
    while right is None:
        pen.line(f"Type all, none, or numbers from 1 to {len(heard)}.")
        right = picked(talk.prompt().casefold(), len(heard))
    for question, value in taking(look.answers, [heard[k] for k in right]):
        look.put(question, value)
    pen.line("Is that everything that strikes you about the rind?")
    more = talk.choose([_ALL, _MORE, _UNSURE])
    look.listed_all = more == _ALL
    look.noticed = more != _MORE
    look.save()
