"""Knowledge that may be used: read, reviewed, and refused with every fault if there is one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from ..errors import KnowledgeError
from ..model import Knowledge
from .contents import content_hash
from .loader import load
from .review import review


def load_checked(folder: Path) -> Knowledge:
    """Knowledge that passed every check. Raises ``KnowledgeError`` with all faults."""
    loaded = load(folder)
    review(loaded)
    if loaded.faults:
        raise KnowledgeError(loaded.faults)
    return replace(loaded.knowledge, version=content_hash(folder))
