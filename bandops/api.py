"""The API's addresses: each room that answers brings its own."""

from django.urls import URLPattern, URLResolver, include, path
from drf_spectacular.views import SpectacularAPIView

from bandops.lib.api.views import api_docs, revoke, tokens
from bandops.lib.rooms import rooms_with

urlpatterns: list[URLPattern | URLResolver] = [
    path("", api_docs, name="api-docs"),
    path("schema/", SpectacularAPIView.as_view(), name="api-schema"),
    path("tokens/", tokens, name="api-tokens"),
    path("tokens/<int:pk>/revoke/", revoke, name="api-token-revoke"),
    *(path("v1/", include(urls)) for urls in rooms_with("api_urls")),
]
