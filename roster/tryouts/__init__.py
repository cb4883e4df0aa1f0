"""Tryout week: who tries out, who marks whom, what the marks say, and who is offered what.

Tables: Tryout, TryoutSession, TryoutCriterion, TryoutQuota, ReadinessItem; Candidate, WantedPart,
RetiredNumber, ItemReady, Recusal; Panelist, TryoutGroup, GroupPlace, GroupEvaluator; Mark,
MarkChange, Correction, SettledFinding, TypedSheet;
Decision, Offer; SeatingPlan, Seat, KeepApart.
Start at `services/setting_up`, `services/marking`, `services/figures`; the computation is in
`core`: `core/looks` and `core/severity` first.
Stands on: people, ranks.
"""
