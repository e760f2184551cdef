"""Ways through a record: every condition, claim, rind and string in it, each with its place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass

from ...model import Condition
from ..loader import Loaded
from ..nodes import Path_


def conditions(loaded: Loaded) -> Iterator[tuple[str, str, tuple[str | int, ...], Condition]]:
    """Every condition: kind of record, its id, path inside it, the condition."""
    k = loaded.knowledge
    for kind, key in (("circumstances", "when"), ("signs", "when"), ("cautions", "when"),
                      ("questions", "ask_if"), ("normal", "only_if")):  # fmt: skip
        for entry in getattr(k, kind):
            condition = getattr(entry, key)
            if condition is not None:
                yield kind, entry.id, (key,), condition
    for cause in k.causes:
        for part in ("today", "next_make"):
            for n, step in enumerate(getattr(cause, part)):
                for key in ("only_if", "unless"):
                    condition = getattr(step, key)
                    if condition is not None:
                        yield "causes", cause.id, (part, n, key), condition


def rind_names(loaded: Loaded) -> Iterator[tuple[str, str, tuple[str | int, ...], str]]:
    """Every rind that a record names."""
    k = loaded.knowledge
    for kind in ("questions", "signs", "normal", "causes"):
        for entry in getattr(k, kind):
            for n, name in enumerate(entry.rinds):
                yield kind, entry.id, ("rinds", n), name
    for question in k.questions:
        for n, option in enumerate(question.options):
            for m, name in enumerate(option.rinds):
                yield "questions", question.id, ("options", n, "rinds", m), name
    for sign in k.signs:
        for n, rate in enumerate(sign.on_sound_rinds):
            for m, name in enumerate(rate.rinds):
                yield "signs", sign.id, ("on_sound_rinds", n, "rinds", m), name
    for cause in k.causes:
        for part in ("signs", "today", "next_make"):
            for n, entry in enumerate(getattr(cause, part)):
                for m, name in enumerate(entry.rinds):
                    yield "causes", cause.id, (part, n, "rinds", m), name


def claims(loaded: Loaded) -> Iterator[tuple[str, str, tuple[str | int, ...], tuple[str, ...]]]:
    """Every list of sources: kind of record, its id, path inside it, the sources."""
    for kind in ("families", "circumstances", "normal", "acts", "cautions", "organisms", "causes", "signs"):
        for entry in getattr(loaded.knowledge, kind):
            yield from _claims_in(kind, entry.id, entry, ())
    for n, scale in enumerate(loaded.knowledge.words.scales):
        yield "words", "words", ("scales", n, "sources"), scale.sources
    if loaded.knowledge.words.scales:
        yield "words", "words", ("answer_noise_sources",), loaded.knowledge.words.answer_noise_sources


def _claims_in(
    kind: str, id: str, thing: object, path: tuple[str | int, ...]
) -> Iterator[tuple[str, str, tuple[str | int, ...], tuple[str, ...]]]:
    for f in fields(thing):  # type: ignore[arg-type]
        value = getattr(thing, f.name)
        if f.name.endswith("sources"):
            yield kind, id, (*path, f.name), value
        elif isinstance(value, tuple):
            for n, part in enumerate(value):
                if is_dataclass(part):
                    yield from _claims_in(kind, id, part, (*path, f.name, n))
        elif is_dataclass(value):
            yield from _claims_in(kind, id, value, (*path, f.name))


def strings_in(thing: object) -> Iterator[str]:
    """Every string inside a record."""
    return (text for _, text in placed_strings(thing, ()))


def placed_strings(thing: object, path: Path_) -> Iterator[tuple[Path_, str]]:
    """Every string inside a record, with its path."""
    if isinstance(thing, str):
        yield path, thing
    elif isinstance(thing, tuple):
        for n, part in enumerate(thing):
            yield from placed_strings(part, (*path, n))
    elif is_dataclass(thing):
        for f in fields(thing):
            yield from placed_strings(getattr(thing, f.name), (*path, f.name))
