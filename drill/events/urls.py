"""Addresses."""

from django.urls import path

from drill.events.views import events, field

urlpatterns = [
    path("dates/", events.events, name="events"),
    path("dates/new/", events.edit_event, name="event-new"),
    path("dates/earlier/", events.like_earlier, name="events-earlier"),
    path("dates/earlier/<int:pk>/", events.set_up_again, name="event-again"),
    path("dates/<int:pk>/", events.event, name="event"),
    path("dates/<int:pk>/edit/", events.edit_event, name="event-edit"),
    path("dates/<int:pk>/remove/", events.remove_event, name="event-remove"),
    path("dates/<int:pk>/copy/", events.copy_event, name="event-copy"),
    path("dates/<int:pk>/must-travel/", events.must_travel, name="must-travel"),
    path("segments/<int:pk>/", events.edit_segment, name="segment"),
    path("segments/<int:pk>/remove/", events.remove_segment, name="segment-remove"),
    path("dates/<int:pk>/texts/", field.event_texts, name="event-texts"),
]
