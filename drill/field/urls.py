"""Addresses."""

from django.urls import path

from drill.field import views

urlpatterns = [
    path("drill/field/", views.field, name="field"),
    path("drill/field/own/new/", views.edit_custom_field, name="custom-field-new"),
    path("drill/field/own/<int:pk>/", views.edit_custom_field, name="custom-field"),
    path("drill/field/own/<int:pk>/remove/", views.remove_custom_field, name="custom-field-remove"),
]
