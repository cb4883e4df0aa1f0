"""The key that locks what an account leaves waiting on a phone."""

from __future__ import annotations

import base64

from django.utils.crypto import salted_hmac

from bandops.lib.accounts.viewer import Viewer


def queue_lock(viewer: Viewer | None) -> str:
    """Only pages of the account itself carry it, so whoever signs in next cannot read the rest."""
    if viewer is None or viewer.user is None:
        return ""
    made = salted_hmac("bandops.queue", str(viewer.user.pk), algorithm="sha256")
    return base64.b64encode(made.digest()).decode()
