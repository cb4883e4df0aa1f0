"""Addresses."""

from django.urls import path

from drill.readiness.views import ready

urlpatterns = [
    path("ready/", ready.next_event, name="readiness-next"),
    path("events/<int:pk>/ready/", ready.readiness, name="readiness"),
    path("events/<int:pk>/ready/excuse/", ready.excuse_member, name="readiness-excuse"),
    path("events/<int:pk>/ready/print/", ready.bring_print, name="bring-print"),
    path("events/<int:pk>/truck/", ready.truck, name="truck"),
    path("events/<int:pk>/truck/print/", ready.load_print, name="load-print"),
]
