"""YAML to model: every fault with file, line and column."""

from .cache import open_knowledge
from .loader import load_checked

__all__ = ["load_checked", "open_knowledge"]
