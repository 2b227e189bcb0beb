"""Which function works out which calculator."""

from collections.abc import Mapping

from batches.workbench import checking, heat, keeping, warmth
from batches.workbench.outcome import WorkOut

WORKED_BY: Mapping[str, WorkOut] = {
    "lethality": heat.lethality,
    "listeria": keeping.listeria,
    "boiling-point": checking.boiling_point,
    "slab": heat.slab,
    "time-in-the-warm": warmth.time_in_the_warm,
    "tolerance": checking.tolerance,
}
