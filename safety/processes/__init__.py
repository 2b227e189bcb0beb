"""Food processes: the steps of the work and what is recorded in each.

Here is no figure: what must be reached is in ``safety.limits``.
"""

from safety.errors import UnknownName
from safety.processes.load import processes
from safety.processes.model import Control, Factor, Monitoring, Process, Step

__all__ = ["Control", "Factor", "Monitoring", "Process", "Step", "all_processes", "get"]


def get(slug: str) -> Process:
    """Return the process called ``slug``.

    Raises
    ------
    UnknownName
        If no file describes it.
    """
    known = processes()
    if slug not in known:
        raise UnknownName("process", slug, tuple(known))
    return known[slug]


def all_processes() -> tuple[Process, ...]:
    """Return every process that is described, by slug."""
    known = processes()
    return tuple(known[slug] for slug in sorted(known))
