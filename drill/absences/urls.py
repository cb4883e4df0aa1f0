"""Addresses."""

from django.urls import path

from drill.absences import views

urlpatterns = [
    path("absences/", views.absence_list, name="absences"),
    path("absences/new/", views.new_absence, name="absence-new"),
    path("absences/written/", views.written_absence, name="absence-written"),
    path("absences/<int:pk>/decide/", views.decide, name="absence-decide"),
    path("absences/<int:pk>/withdraw/", views.withdraw, name="absence-withdraw"),
    path("absences/of/<int:pk>/", views.member_absences, name="member-absences"),
    path("my-absences/", views.my_absences, name="my-absences"),
    path("my-rank/report/", views.rank_report, name="rank-report"),
]
