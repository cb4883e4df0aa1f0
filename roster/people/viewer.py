"""Who is looking: the account with its roles, membership and ranks in the current season."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.contrib.auth import logout
from django.contrib.auth.models import AnonymousUser
from django.db.models import Model, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.utils.functional import SimpleLazyObject

from bandops.lib.accounts.models import User
from bandops.lib.accounts.sessions import still_runs
from roster.people.enums import Role
from roster.people.models import Deputy, Member, RoleGrant, Season
from roster.people.ties import RANKS_LED


@dataclass(frozen=True)
class Viewer:
    """What the rules need to know of an account; an outsider has no season's roles at all."""

    user: User | None = None
    season: Season | None = None
    roles: frozenset[str] = frozenset()
    member: Member | None = None
    ranks_led: tuple[Model, ...] = ()
    deputy_of: User | None = None
    """the director whose rights they have today"""

    @property
    def is_appointed_director(self) -> bool:
        """The director in person: names deputies and gives roles."""
        return self.is_director and self.deputy_of is None

    @property
    def is_director(self) -> bool:
        return Role.DIRECTOR in self.roles

    @property
    def is_staff(self) -> bool:
        return self.is_director or Role.STAFF in self.roles

    @property
    def is_equipment_manager(self) -> bool:
        return Role.EQUIPMENT_MANAGER in self.roles

    @property
    def is_evaluator(self) -> bool:
        return Role.EVALUATOR in self.roles

    @property
    def is_rank_leader(self) -> bool:
        return bool(self.ranks_led)

    @property
    def is_member(self) -> bool:
        return self.member is not None

    @property
    def sees_others(self) -> bool:
        """True for roles that are given: their sign-ins end sooner."""
        return bool(self.roles)

    @property
    def belongs(self) -> bool:
        """True for anybody with a place or a role in the season."""
        return bool(self.roles or self.member)

    def leads(self, rank_id: int | None) -> bool:
        return any(rank.pk == rank_id for rank in self.ranks_led)

    @property
    def signed_in(self) -> User:
        """The account; PermissionError for a visitor (rules ask first)."""
        if self.user is None:
            raise PermissionError("nobody is signed in")
        return self.user

    @property
    def this_season(self) -> Season:
        """The current season; PermissionError before the first set-up."""
        if self.season is None:
            raise PermissionError("there is no season yet")
        return self.season


def current_season() -> Season | None:
    """The season that is marked current."""
    return Season.objects.filter(is_current=True).first()


def viewer_of(user: User | AnonymousUser) -> Viewer:
    """The viewer of an account, in at most five queries."""
    season = current_season()
    if not isinstance(user, User) or not user.is_active:
        return Viewer(season=season)
    if season is None:
        return Viewer(user=user)
    roles = frozenset(
        RoleGrant.objects.filter(user=user, season=season).values_list("role", flat=True)
    )
    may_be_deputy = Role.STAFF in roles and Role.DIRECTOR not in roles
    deputy = deputies_today(season).filter(user=user).first() if may_be_deputy else None
    member = (
        Member.objects.filter(Q(person__user=user) | Q(person__merged__user=user), season=season)
        .exclude(status="left")
        .select_related("person")
        .first()
    )
    led = RANKS_LED.ask(member) if member is not None else []
    ranks = tuple(rank for ranks in led for rank in ranks)
    if deputy is None:
        return Viewer(user, season, roles, member, ranks)
    user.acting_for = str(deputy.named_by)
    return Viewer(user, season, roles | {Role.DIRECTOR}, member, ranks, deputy.named_by)


def deputies_today(season: Season) -> QuerySet[Deputy]:
    """The grants that run today by the season's clock, of accounts still on the staff."""
    today = season.today()
    staff = RoleGrant.objects.filter(season=season, role=Role.STAFF).values("user")
    rows = Deputy.objects.filter(season=season, starts__lte=today, ends__gte=today)
    rows = rows.filter(user__in=staff, user__is_active=True)
    return rows.select_related("user", "named_by")


class ViewerMiddleware:
    """Puts the viewer on the request, evaluated when first asked for."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.viewer = SimpleLazyObject(lambda: _viewer_in_time(request))  # type: ignore[attr-defined]
        return self.get_response(request)


def _viewer_in_time(request: HttpRequest) -> Viewer:
    """Whose sign-in lasts too long is a visitor."""
    found = viewer_of(request.user)
    if found.user is None or still_runs(request.session, guarded=found.sees_others):
        return found
    logout(request)
    return Viewer(season=found.season)
