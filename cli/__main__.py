"""``python -m rindwright.cli``."""

from .main import main

if __name__ == "__main__":  # a pool's processes open this module too
    main()
