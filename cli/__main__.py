"""``python -m rindwright.cli``."""

from .main import main

main()
