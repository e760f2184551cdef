"""What the maker says in their own words, shown back before it counts."""

from __future__ import annotations

from collections.abc import Callable

from ...engine.catalog import Catalog
from ...engine.gates import FIRST, plain_view
from ...engine.hinting import Hints
from ...engine.house.voices import of_question
from ...engine.noticing import readings, taking
from ..house_words import tag
from .look import Look
from .replies import ASIDES, picked
from .talk import Talk

_ALL, _MORE, _UNSURE = "yes, everything", "no, more to say", "not sure"


HOW = (
    "Colours, spots, hair, slime, smell, cracks, the look of the box: say what you see, feel and smell, as you would "
    "to a friend."
)
WHY = "What strikes you first rules out most causes at once, and spares you questions."
EVERYTHING = "Is that everything that strikes you about the rind?"


def notice(catalog: Catalog, look: Look, talk: Talk, aside: Callable[[str], bool]) -> None:
    """Ask what strikes the maker; readings that they confirm become answers. ``aside`` takes words that are none."""
    pen = talk.pen
    pen.line()
    pen.line("What do you notice? In your own words, several things at once. An empty line goes on.", "bold")
    typed = talk.prompt()
    word = typed.casefold()
    if word in ASIDES:
        aside(word)
        return
    if word in ("?", "how", "why"):
        pen.line(WHY if word == "why" else HOW)
        return
    if word in ("", "skip", "dk", "d"):
        look.noticed = True
        look.save()
        return
    look.words.append(typed)
    heard = [r for r in readings(catalog, typed) if r.question not in FIRST]  # those are answered by now
    unsure = Hints(catalog).unsure(typed, plain_view(catalog, look.answers), heard)
    if not heard and not unsure:
        pen.line("I know none of these words. Try others, or an empty line to be asked instead.")
        look.noticed = len(look.words) >= 2
        look.save()
        return
    for lead, found, first in (("I understood:", heard, 1), ("This may mean:", unsure, len(heard) + 1)):
        if found:
            pen.line(lead)
        for k, reading in enumerate(found, first):
            said = reading.says + tag(of_question(catalog, reading.question))
            pen.item(f"  {k}. ", f'{said} (you said "{reading.heard}")')
    pen.line(_which(len(heard), len(unsure)))
    reply = talk.prompt().casefold()
    while (right := picked(reply, len(heard), len(unsure))) is None:
        if reply == "back":
            look.words.pop()
            return
        all_ = "all, none" if heard else "none"
        pen.line(f"Type {all_}, or numbers from 1 to {len(heard) + len(unsure)}; or back, to say it in other words.")
        reply = talk.prompt().casefold()
    heard += unsure
    for question, value in taking(look.answers, [heard[k] for k in right]):
        look.put(question, value)
    everything(look, talk)


def everything(look: Look, talk: Talk) -> None:
    """Ask whether all that strikes the maker is told: then what was not named is not there."""
    talk.pen.line(EVERYTHING)
    more = talk.choose([_ALL, _MORE, _UNSURE])
    look.listed_all = more == _ALL
    look.noticed = more != _MORE
    look.save()


def _which(sure: int, unsure: int) -> str:
    if not unsure:
        return "Which of these are right? all, none, or their numbers."
    if not sure:
        return "Is any of these right? Their numbers, or none."
    return f"Which of these are right? Their numbers, none, or all for {'1' if sure == 1 else f'1 to {sure}'}."
