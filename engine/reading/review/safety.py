"""The screen is whole: a stop says what it touched, a hold which test, and each of its questions can be listed."""

from __future__ import annotations

from ..loader import Loaded

_NEEDED = {"stop": ("do", "touched"), "hold": ("do", "test", "sample", "while_waiting"), "note": ()}


def safety_is_complete(loaded: Loaded) -> None:
    """Cautions say all that their level asks for; questions of the screen have a topic; a block takes yes or no."""
    for caution in loaded.knowledge.cautions:
        for key in _NEEDED[caution.level]:
            if not getattr(caution, key):
                loaded.fault("cautions", caution.id, (), f'The {caution.level} "{caution.id}" needs "{key}".')
        for key in ("urgent", "no_tasting"):
            if getattr(caution, key) and caution.level != "note":
                loaded.fault(
                    "cautions", caution.id, (key,), f'"{key}" is for a note; a {caution.level} is that anyway.'
                )
    for question in loaded.knowledge.questions:
        if question.screen and not question.topic:
            loaded.fault("questions", question.id, (), f'"{question.id}" belongs to the screen and needs a topic.')
        if question.block and not (question.screen and question.kind == "yes_no"):
            loaded.fault(
                "questions", question.id, ("block",), "Only a yes_no question of the screen can stand in a block."
            )
        if question.words and question.kind != "yes_no":
            loaded.fault(
                "questions", question.id, ("words",), "Only a yes_no question has words; options have their own."
            )
