"""Plans: which hazards a product has, which steps control them, by which limits.

Here hazards are looked at and a plan is drafted from published guidance. Whose plan it
is, and who signed it, is elsewhere.
"""

from safety.plans.analysed import (
    DecidedBy,
    Decision,
    Hazard,
    HazardAnalysis,
    Measure,
    Question,
    TreeAnswer,
)
from safety.plans.analysis import analyse
from safety.plans.draft import draft
from safety.plans.planned import DraftPlan, PlanLimit, PlanPoint, Role
from safety.plans.strictest import choose

__all__ = [
    "DecidedBy",
    "Decision",
    "DraftPlan",
    "Hazard",
    "HazardAnalysis",
    "Measure",
    "PlanLimit",
    "PlanPoint",
    "Question",
    "Role",
    "TreeAnswer",
    "analyse",
    "choose",
    "draft",
]
