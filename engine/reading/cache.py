"""Checked knowledge, kept as JSON so that a start does not pay for validation.

The cache file names the content hash of the knowledge it was made from, the version of the
records, and a digest of its own body. Anything odd about it (missing, cut short, damaged,
older) means: read the YAML again. The digest guards against damage, not against someone who
may write in this folder and makes a fitting one; JSON holds no code, so such a file could
change what is said and never what is run.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from dataclasses import replace
from pathlib import Path

from ..model import Knowledge
from .contents import content_hash
from .rows import body_of, revived, shape_stamp

_MARK = "rindwright-knowledge-cache/3"


def open_knowledge(folder: Path, cache_folder: Path | None) -> Knowledge:
    """Checked knowledge of a folder, from the cache when that is beyond doubt.

    Raises ``KnowledgeError`` with every fault when the folder does not pass its checks.
    """
    try:
        version = content_hash(folder)
    except OSError:  # something among the files cannot be read: reading afresh says which
        cache_folder, version = None, ""
    place = cache_folder / f"knowledge-{version[:16]}.json" if cache_folder else None
    if place is not None:
        cached = _read(place, version)
        if cached is not None:
            return cached
    from .checked import load_checked

    knowledge = load_checked(folder)
    if place is not None:
        _write(place, knowledge)
    return knowledge


def _write(place: Path, knowledge: Knowledge) -> None:
    body = body_of(knowledge)
    head = json.dumps({"mark": _MARK, "version": knowledge.version, "shape": shape_stamp(), "digest": _digest(body)})
    keep_only(place, head + "\n" + body)


def keep_only(place: Path, text: str) -> None:
    """Put a cache file KIND-HASH.json in place, whole or not at all, and drop older ones of its kind.

    A cache that cannot be written costs time, never the answer.
    """
    import tempfile  # only a start without a cache pays for it

    kind = place.name.partition("-")[0]
    with contextlib.suppress(OSError):
        place.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=place.parent, prefix=f".{kind}-")
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
            os.replace(name, place)
        except OSError:
            os.unlink(name)
            raise
        for old in place.parent.glob(f"{kind}-*.json"):
            if old != place:
                old.unlink(missing_ok=True)


def _read(place: Path, version: str) -> Knowledge | None:
    try:
        head_text, body = place.read_bytes().decode("utf-8").split("\n", 1)
        head = json.loads(head_text)
        if head != {"mark": _MARK, "version": version, "shape": shape_stamp(), "digest": _digest(body)}:
            return None
        made = revived(body)
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None
    return replace(made, version=version)


def _digest(body: str) -> str:
    return hashlib.sha256(body.encode("utf-8")).hexdigest()
