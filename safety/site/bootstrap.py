"""Sets up the environment on a bare machine, with the standard library only."""


def enter(arguments):
    """Return when the packages needed by the command can be imported."""
