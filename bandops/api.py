"""The API's addresses."""

from django.urls import URLPattern, URLResolver, path
from drf_spectacular.views import SpectacularAPIView

from drill.api import lineups
from roster.views.api_docs import api_docs

urlpatterns: list[URLPattern | URLResolver] = [
    path("", api_docs, name="api-docs"),
    path("schema/", SpectacularAPIView.as_view(), name="api-schema"),
    path("v1/events/", lineups.EventList.as_view(), name="api-events"),
    path("v1/events/<int:pk>/lineup/", lineups.PublishedLineup.as_view(), name="api-lineup"),
    path("v1/solve/", lineups.Solve.as_view(), name="api-solve"),
]
