"""All addresses: those of the ground floor and of every room."""

from django.urls import include, path

from bandops.lib.rooms import rooms_with

urlpatterns = [
    path("", include("bandops.lib.urls")),
    *(path("", include(urls)) for urls in rooms_with("urls")),
    path("api/", include("bandops.api")),
]

handler404 = "bandops.lib.web.errors.not_found"
handler400 = "bandops.lib.web.errors.bad_request"
