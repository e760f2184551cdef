"""What the program ends with."""

from enum import IntEnum


class Status(IntEnum):
    """Exit codes. Everything but ``DONE`` and ``UNDECIDED`` comes with a sentence on standard error."""

    DONE = 0
    BROKEN = 1  # a fault of the program itself
    USAGE = 2  # the command line, or no answers where answers are needed
    INVALID = 3  # knowledge, answers or a file that cannot be used
    UNDECIDED = 4  # undecided, and --strict was given
    INTERRUPTED = 130  # Ctrl-C; what was answered is kept
