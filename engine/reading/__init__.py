"""YAML to model: every fault with file, line and column."""

from pathlib import Path

from ..model import Knowledge
from .cache import open_knowledge


def load_checked(folder: Path) -> Knowledge:
    """Knowledge of a folder, read afresh and checked. Raises ``KnowledgeError`` with every fault."""
    from .checked import load_checked as load

    return load(folder)


__all__ = ["load_checked", "open_knowledge"]
