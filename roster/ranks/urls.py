"""Addresses."""

from django.urls import path

from roster.ranks.views import places, pools, ranks

urlpatterns = [
    path("people/<int:pk>/place/", places.member_place, name="member-place"),
    path("alternates/", pools.alternates, name="alternates"),
    path("alternates/pools/", pools.change_pools, name="alternate-pools"),
    path("ranks/", ranks.rank_list, name="ranks"),
    path("ranks/new/", ranks.edit_rank, name="rank-new"),
    path("ranks/<int:pk>/", ranks.rank, name="rank"),
    path("ranks/<int:pk>/edit/", ranks.edit_rank, name="rank-edit"),
    path("ranks/<int:pk>/spots/new/", ranks.new_spot, name="spot-new"),
    path("ranks/<int:pk>/alternates/<int:part_pk>/", ranks.reorder, name="alternates-reorder"),
    path("spots/<int:pk>/", ranks.spot, name="spot"),
]
