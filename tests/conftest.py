"""What every test may lean on: the packaged knowledge, read once."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.model import Knowledge
from rindwright.engine.reading import load_checked

settings.register_profile(
    "steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
settings.load_profile("steady")


@pytest.fixture(scope="session")
def knowledge_folder() -> Path:
    return Path(str(files("rindwright.knowledge")))


@pytest.fixture(scope="session")
def knowledge(knowledge_folder: Path) -> Knowledge:
    return load_checked(knowledge_folder)


@pytest.fixture(scope="session")
def diagnoser(knowledge: Knowledge) -> Diagnoser:
    return Diagnoser(knowledge)
