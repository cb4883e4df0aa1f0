"""Addresses."""

from django.urls import path

from drill.backups.views import coverage, covers

urlpatterns = [
    path("spots/<int:pk>/covers/", covers.spot_covers, name="spot-covers"),
    path("covers/", coverage.covers, name="covers"),
    path("covers/of/<int:pk>/", coverage.covers, name="covers-of"),
    path("covers/of/<int:pk>/plan/", coverage.make_plan, name="plan"),
    path("covers/of/<int:pk>/progress/", coverage.progress, name="plan-progress"),
    path("covers/of/<int:pk>/lessons/", coverage.add_lesson, name="lesson-add"),
    path("covers/lessons/<int:pk>/", coverage.change_lesson, name="lesson"),
    path("covers/<int:pk>/", covers.change_cover, name="cover"),
]
