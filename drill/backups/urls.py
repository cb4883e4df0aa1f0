"""Addresses."""

from django.urls import path

from drill.backups.views import backups, coverage

urlpatterns = [
    path("spots/<int:pk>/backups/", backups.spot_backups, name="spot-backups"),
    path("backups/", coverage.backups, name="backups"),
    path("backups/of/<int:pk>/", coverage.backups, name="backups-of"),
    path("backups/of/<int:pk>/<int:spot_pk>/", coverage.spot_coverage, name="spot-coverage"),
    path("backups/of/<int:pk>/plan/", coverage.make_plan, name="plan"),
    path("backups/of/<int:pk>/progress/", coverage.progress, name="plan-progress"),
    path("backups/of/<int:pk>/lessons/", coverage.add_lesson, name="lesson-add"),
    path("backups/lessons/<int:pk>/", coverage.change_lesson, name="lesson"),
    path("backups/<int:pk>/", backups.change_backup, name="backup"),
]
