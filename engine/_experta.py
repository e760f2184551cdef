"""The only module that imports experta, repaired for Python 3.10 and newer.

Its pinned ``frozendict`` looks for ``collections.Mapping``, which left Python in 3.10, and
its watchers install a root log handler. The name is lent for the import and taken back, and
logging is left as it was found.
"""

from __future__ import annotations

import collections
import collections.abc
import logging
from typing import Any

_had_mapping = hasattr(collections, "Mapping")
_handlers = list(logging.root.handlers)
_level = logging.root.level
if not _had_mapping:
    collections.Mapping = collections.abc.Mapping  # type: ignore[attr-defined]
try:
    import experta as _experta
finally:
    if not _had_mapping:
        del collections.Mapping  # type: ignore[attr-defined]
    logging.root.handlers[:] = _handlers
    logging.root.setLevel(_level)

Fact: Any = _experta.Fact
KnowledgeEngine: Any = _experta.KnowledgeEngine
MATCH: Any = _experta.MATCH
Rule: Any = _experta.Rule

__all__ = ["MATCH", "Fact", "KnowledgeEngine", "Rule"]
