"""The tables of this room."""

from roster.tryouts.models.candidates import (
    Candidate,
    ItemReady,
    ReadinessItem,
    Recusal,
    RetiredNumber,
    WantedPart,
)
from roster.tryouts.models.decisions import Decision, Offer
from roster.tryouts.models.marks import Correction, Mark, MarkChange, SettledFinding, TypedSheet
from roster.tryouts.models.plan import GroupEvaluator, GroupPlace, Panelist, TryoutGroup
from roster.tryouts.models.seating import KeepApart, Seat, SeatingPlan
from roster.tryouts.models.tryouts import Tryout, TryoutCriterion, TryoutQuota, TryoutSession

__all__ = [
    "Candidate",
    "Correction",
    "Decision",
    "GroupEvaluator",
    "GroupPlace",
    "ItemReady",
    "KeepApart",
    "Mark",
    "MarkChange",
    "Offer",
    "Panelist",
    "ReadinessItem",
    "Recusal",
    "RetiredNumber",
    "Seat",
    "SeatingPlan",
    "SettledFinding",
    "Tryout",
    "TryoutCriterion",
    "TryoutGroup",
    "TryoutQuota",
    "TryoutSession",
    "TypedSheet",
    "WantedPart",
]
