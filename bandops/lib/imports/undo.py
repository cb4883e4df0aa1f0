"""Undoing an import."""

from __future__ import annotations

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import recorded
from bandops.lib.audit.undo import reverse_batch
from bandops.lib.errors import Refused
from bandops.lib.imports.models import ImportBatch


def undo_import(*, actor: User, batch: ImportBatch) -> None:
    """Take an import back; refused with the names of what has used it since."""
    with recorded(actor, "undo import"):
        locked = ImportBatch.objects.select_for_update().get(pk=batch.pk)
        if locked.undone_at is not None:
            raise Refused("This import was already undone.")
        entries = list(AuditEntry.objects.filter(batch=batch.batch).order_by("-id"))
        entries = [e for e in entries if e.table != ImportBatch._meta.db_table]
        reverse_batch(actor, entries, "The import cannot be undone")
        locked.undone_at = timezone.now()
        locked.save()
