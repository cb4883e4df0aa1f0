"""The ground floor: accounts, audit, imports, prints, jobs, what pages share."""

from __future__ import annotations

from importlib import import_module

from django.apps import AppConfig
from django.conf import settings
from django.contrib.auth.signals import user_logged_in
from django.db.backends.signals import connection_created
from django.db.models.signals import post_migrate, pre_migrate


class LibConfig(AppConfig):
    name = "bandops.lib"
    label = "lib"

    def ready(self) -> None:
        from bandops.lib.accounts import sessions
        from bandops.lib.audit import triggers

        connection_created.connect(triggers.teach_sqlite, dispatch_uid="audit")
        pre_migrate.connect(triggers.before_migrate, dispatch_uid="audit")
        post_migrate.connect(triggers.after_migrate, dispatch_uid="audit")
        user_logged_in.connect(sessions.begin, dispatch_uid="sessions")
        import_module("bandops.lib.accounts.jobs")
        if settings.READ_ONLY:
            user_logged_in.disconnect(dispatch_uid="update_last_login")
