"""Addresses."""

from django.urls import path

from drill.gameday.views import changes, desk, filling, requests

urlpatterns = [
    path("desk/", desk.desk, name="desk"),
    path("desk/<int:pk>/", desk.desk, name="desk-of"),
    path("desk/<int:pk>/out/<int:member_pk>/", filling.out, name="desk-out"),
    path("desk/<int:pk>/not-out/<int:member_pk>/", changes.not_out, name="desk-not-out"),
    path("desk/<int:pk>/open/<int:spot_pk>/", filling.open_spot, name="desk-open"),
    path("desk/<int:pk>/swap/", filling.swap, name="desk-swap"),
    path("desk/<int:pk>/fill/", changes.fill, name="desk-fill"),
    path("desk/changes/<int:pk>/", changes.change, name="desk-change"),
    path("desk/changes/<int:pk>/undo/", changes.undo, name="desk-undo"),
    path("desk/requests/<int:pk>/approve/", requests.approve, name="desk-request-approve"),
    path("desk/requests/<int:pk>/decline/", requests.decline, name="desk-request-decline"),
    path("desk/requests/<int:pk>/withdraw/", requests.withdraw, name="desk-request-withdraw"),
    path("desk/clashes/<int:pk>/", changes.decide_clash, name="desk-clash"),
]
