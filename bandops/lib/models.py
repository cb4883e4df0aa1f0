"""The ground floor's tables."""

from bandops.lib.accounts.models import User
from bandops.lib.api.models import ApiToken
from bandops.lib.audit.models import AuditEntry, TakenBack
from bandops.lib.imports.models import ImportBatch, ImportUpload
from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.sent.models import SentForm

__all__ = [
    "ApiToken",
    "Artifact",
    "AuditEntry",
    "ImportBatch",
    "ImportUpload",
    "Job",
    "SentForm",
    "TakenBack",
    "User",
]
