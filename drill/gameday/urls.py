"""Addresses."""

from django.urls import path

from drill.gameday import views

urlpatterns = [
    path("desk/", views.desk, name="desk"),
    path("desk/<int:pk>/", views.desk, name="desk-of"),
    path("desk/<int:pk>/out/<int:member_pk>/", views.out, name="desk-out"),
    path("desk/<int:pk>/fill/", views.fill, name="desk-fill"),
    path("desk/changes/<int:pk>/", views.change, name="desk-change"),
    path("desk/changes/<int:pk>/undo/", views.undo, name="desk-undo"),
    path("desk/clashes/<int:pk>/", views.decide_clash, name="desk-clash"),
]
