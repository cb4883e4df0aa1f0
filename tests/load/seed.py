"""Run with the code that is measured: accounts for phones, signed in; prints their cookies.

``python manage.py shell`` reads it; only what every version has is used.
"""

from __future__ import annotations

import json
import os
from importlib import import_module

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY

from bandops.lib.accounts.models import User
from drill.events.models import Event
from roster.people.models import Member, RoleGrant, Season

BACKEND = "django.contrib.auth.backends.ModelBackend"
season = Season.objects.get(is_current=True)
store = import_module(settings.SESSION_ENGINE).SessionStore


def cookie(user: User) -> str:
    made = store()
    made[SESSION_KEY], made[BACKEND_SESSION_KEY] = str(user.pk), BACKEND
    made[HASH_SESSION_KEY] = user.get_session_auth_hash()
    made.create()
    return str(made.session_key)


phones = []
for member in Member.objects.filter(season=season, status="active").select_related("person"):
    if member.person.user is None:
        user = User.objects.create_user(f"phone{member.pk}@load.example", member.name)
        member.person.user = user
        member.person.save()
    phones.append(cookie(member.person.user))
director = RoleGrant.objects.filter(season=season, role="director").earliest("pk").user
rehearsal = Event.objects.filter(season=season, kind="rehearsal").order_by("-date").first()
found = {
    "phones": phones,
    "director": cookie(director),
    "members": list(Member.objects.filter(season=season).values_list("pk", flat=True)),
    "rehearsal": rehearsal.pk if rehearsal else 0,
    "game": Event.objects.filter(lineups__state="published").latest("date").pk,
}
with open(os.environ["SEED_TO"], "w") as file:  # noqa: PTH123
    json.dump(found, file)
