"""Addresses."""

from django.urls import path

from drill.learning.views import practice, set_sheets

urlpatterns = [
    path("rehearsals/<int:pk>/practice/", practice.practice, name="practice"),
    path("practice/<int:pk>/remove/", practice.remove, name="practice-remove"),
    path("shows/<int:pk>/sheet/<int:spot_pk>/", set_sheets.sheet, name="set-sheet"),
    path(
        "shows/<int:pk>/sheet/<int:spot_pk>/print/", set_sheets.print_sheet, name="set-sheet-print"
    ),
    path("shows/<int:pk>/sheets/", set_sheets.sheets, name="set-sheets"),
    path(
        "shows/<int:pk>/sheets/<int:rank_pk>/", set_sheets.sheets_of_rank, name="set-sheets-of-rank"
    ),
    path(
        "shows/<int:pk>/sheets/file/<int:file_pk>/", set_sheets.sheets_file, name="set-sheets-file"
    ),
    path("dates/<int:pk>/learn/<int:spot_pk>/<int:member_pk>/", set_sheets.relearn, name="relearn"),
]
