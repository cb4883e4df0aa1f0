"""The job that computes a plan."""

from __future__ import annotations

from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.outbox.registry import Store, handles
from drill.backups.models import BackupPlan
from drill.backups.services.plans import compute_plan, store_plan


@handles("backups.plan")
def make_backup_plan(payload: dict[str, Any]) -> Store:
    """Compute an event's backup plan and keep its lessons and figures."""
    plan = BackupPlan.objects.select_related("event__season").get(pk=payload["plan"])
    actor = User.objects.get(pk=payload["actor"])
    made = compute_plan(plan)
    return lambda: store_plan(actor=actor, plan=plan, made=made)
