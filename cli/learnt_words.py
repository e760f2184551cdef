"""What was learnt, in words and for machines: always beside the cited value, never in its place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ..engine.archive.learnt import Beside, Correction, Standing


def both(c: Correction) -> str:
    """The cited value and the corrected one: ``cited "common" (2.8%), with yours 8.1%``."""
    return f'cited "{c.cited_word}" ({c.cited:.1%}), with yours {c.local:.1%}'


def of_cause(own: Beside | None, cause: str) -> str:
    """What the maker's looks say of how common a cause is; empty when nothing."""
    if own is None or cause not in own.base:
        return ""
    c = own.base[cause]
    looks = f"{own.looks} confirmed look{'' if own.looks == 1 else 's'}"
    return f'Cited "{c.cited_word}" ({c.cited:.1%}); with your {looks} {c.local:.1%}.'


def of_reason(own: Beside | None, cause: str, sign: str) -> str:
    """The same of an answer that speaks for or against a cause, to follow on what is said of it."""
    if own is None:
        return ""
    parts = []
    if (cause, sign) in own.links:
        parts.append(f"learnt: {both(own.links[cause, sign])}")
    if sign in own.sound:
        parts.append(f"learnt of sound rinds: {both(own.sound[sign])}")
    return "".join(f"; {part}" for part in parts)


def standing_shape(found: Standing | None) -> dict[str, Any] | None:
    """Where the corrections come from; None when nothing was learnt."""
    return None if found is None or not found.looks else {"looks": found.looks, "since": found.at[:10]}


def cause_shape(own: Beside | None, cause: str) -> dict[str, Any] | None:
    """The corrected base rate of a cause beside the cited one."""
    return None if own is None or cause not in own.base else _shape(own.base[cause])


def reason_shape(own: Beside | None, cause: str, sign: str) -> dict[str, Any]:
    """The corrected strengths behind a reason beside the cited ones."""
    if own is None:
        return {"link": None, "sound_rind": None}
    link, sound = own.links.get((cause, sign)), own.sound.get(sign)
    return {"link": link and _shape(link), "sound_rind": sound and _shape(sound)}


def _shape(c: Correction) -> dict[str, Any]:
    return {
        "cited_word": c.cited_word, "cited": round(c.cited, 6), "local": round(c.local, 6),
        "seen": round(c.seen, 3), "of": round(c.of, 3),
    }  # fmt: skip
