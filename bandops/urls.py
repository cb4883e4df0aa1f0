"""All addresses."""

from django.urls import include, path

urlpatterns = [
    path("", include("drill.urls")),
    path("", include("roster.urls")),
    path("api/", include("bandops.api")),
]
