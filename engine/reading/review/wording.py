"""Words have their numbers, and no sentence promises what nobody can promise."""

from __future__ import annotations

import re
from typing import get_args

from ... import model
from ...errors import listed
from ..loader import Loaded
from .walk import placed_strings

FORBIDDEN = re.compile(
    r"\b(safe to eat|fine to eat|ok to eat|edible|harmless|no risk|guaranteed?|sterile|certified|probably just"
    r"|(?:is|are|perfectly|quite) safe)\b",
    re.IGNORECASE,
)
"""Words that would promise something about a cheese; ``safety`` stays a word of its own."""


def words_are_complete(loaded: Loaded) -> None:
    """Every word of the format has its number."""
    if ("words", "words") not in loaded.places:
        return  # the file itself is missing or faulty, which is said already
    scales = {s.id: {w.word for w in s.words} for s in loaded.knowledge.words.scales}
    for scale, literal in (
        ("frequency", model.Frequency), ("strength", model.Strength), ("feeding", model.Strength),
        ("base_rate", model.BaseRate), ("how_common", model.HowCommon), ("effort", model.Effort),
    ):  # fmt: skip
        missing = [str(w) for w in get_args(literal) if w not in scales.get(scale, set())]
        if missing:
            at = ("scales", list(scales).index(scale)) if scale in scales else ("scales",)
            loaded.fault(
                "words", "words", at, f'words.yaml has no number for {listed(missing)} on the scale "{scale}".'
            )
    if "probability" not in scales:
        loaded.fault("words", "words", (), 'words.yaml lacks the scale "probability".')
    for about in get_args(model.About):
        if not any(n.about == about for n in loaded.knowledge.words.answer_noise):
            loaded.fault("words", "words", (), f'words.yaml has no answer noise for "{about}".')


def nothing_is_promised(loaded: Loaded) -> None:
    """No string that can be printed calls a cheese safe."""
    for kind in (
        "families",
        "questions",
        "signs",
        "circumstances",
        "causes",
        "normal",
        "acts",
        "cautions",
        "organisms",
    ):
        for entry in getattr(loaded.knowledge, kind):
            for path, text in placed_strings(entry, ()):
                found = FORBIDDEN.search(text)
                if found:
                    loaded.fault(
                        kind, entry.id, path, f'"{entry.id}" says "{found.group(0)}": nothing here may promise that.'
                    )
    for path, text in placed_strings(loaded.knowledge.words, ()):
        found = FORBIDDEN.search(text)
        if found:
            loaded.fault("words", "words", path, f'words.yaml says "{found.group(0)}": nothing here may promise that.')
