"""Addresses."""

from django.urls import path

from drill.lineup.views import lineup, making, orders, proposal, proving, seat

urlpatterns = [
    path("lineup/", lineup.who_marches, name="who-marches"),
    path("lineup/<int:pk>/", lineup.lineup, name="lineup"),
    path("lineup/<int:pk>/make/", making.make, name="make-lineup"),
    path("lineup/<int:pk>/proposal/", proposal.proposal, name="proposal"),
    path("lineup/<int:pk>/proving/", proving.proving, name="proving"),
    path("lineup/<int:pk>/out/", orders.mark_out, name="mark-out"),
    path("lineup/<int:pk>/lift/<slug:kind>/<int:order_pk>/", orders.lift, name="lift-order"),
    path("lineup/<int:pk>/<int:segment_pk>/<int:spot_pk>/", seat.seat, name="seat"),
    path("lineup/<int:pk>/<int:segment_pk>/<int:spot_pk>/place/", orders.place, name="place"),
    path("lineup/<int:pk>/<int:segment_pk>/<int:spot_pk>/order/", orders.order, name="order"),
    path("lineup/<int:pk>/swap/", orders.swap, name="swap-by-hand"),
    path("lineup/<int:pk>/by-hand/", orders.start_by_hand, name="by-hand"),
]
