"""Which function works out which calculator."""

from collections.abc import Mapping

from batches.workbench import (
    activity,
    brine,
    checking,
    curing,
    heat,
    keeping,
    salting,
    scoops,
    warmth,
)
from batches.workbench.outcome import WorkOut

WORKED_BY: Mapping[str, WorkOut] = {
    "scoops": scoops.scoops,
    "brine": brine.brine,
    "cure": curing.cure,
    "water-activity": activity.water_activity,
    "salt-uptake": curing.salt_uptake,
    "water-phase-salt": salting.water_phase_salt,
    "lethality": heat.lethality,
    "listeria": keeping.listeria,
    "boiling-point": checking.boiling_point,
    "slab": heat.slab,
    "time-in-the-warm": warmth.time_in_the_warm,
    "tolerance": checking.tolerance,
}
