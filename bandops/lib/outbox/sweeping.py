"""What happens every minute: waiting jobs are started again, and what is kept for a while goes."""

from __future__ import annotations

import logging

from bandops.lib.accounts import sessions
from bandops.lib.imports.models import ImportUpload
from bandops.lib.outbox.dispatch import start_job
from bandops.lib.outbox.models import Artifact
from bandops.lib.outbox.running import waiting_jobs
from bandops.lib.outbox.ties import EACH_MINUTE
from bandops.lib.sent.models import SentForm

log = logging.getLogger(__name__)


def sweep() -> int:
    """Start jobs whose worker died or whose broker was down, throw away old uploads, keys and
    sessions; how many jobs were started."""
    ImportUpload.throw_away_old()
    SentForm.throw_away_old()
    sessions.throw_away_old()
    ids = waiting_jobs()
    for job_id in ids:
        start_job(job_id)
    for each in (Artifact.throw_away_left, *EACH_MINUTE.joined):
        try:
            each()
        except Exception:
            log.exception("what a room does every minute")
    return len(ids)
