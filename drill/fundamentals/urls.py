"""Addresses."""

from django.urls import path

from drill.fundamentals.views import abbreviations, fundamentals, sequences

urlpatterns = [
    path("fundamentals/", fundamentals.fundamentals, name="fundamentals"),
    path("fundamentals/new/", fundamentals.edit_fundamental, name="fundamental-new"),
    path("fundamentals/examples/", fundamentals.examples, name="fundamental-examples"),
    path(
        "fundamentals/examples/<slug:code>/add/",
        fundamentals.add_example,
        name="fundamental-example-add",
    ),
    path("fundamentals/study-sheet/", fundamentals.study_sheet, name="study-sheet"),
    path(
        "fundamentals/study-sheet/<slug:paper>/",
        fundamentals.study_sheet_file,
        name="study-sheet-file",
    ),
    path("fundamentals/of/<slug:code>/", fundamentals.fundamental, name="fundamental"),
    path(
        "fundamentals/of/<slug:code>/edit/", fundamentals.edit_fundamental, name="fundamental-edit"
    ),
    path(
        "fundamentals/of/<slug:code>/remove/",
        fundamentals.remove_fundamental,
        name="fundamental-remove",
    ),
    path("fundamentals/of/<slug:code>/passed/", fundamentals.passed, name="fundamental-passed"),
    path("abbreviations/", abbreviations.abbreviations, name="abbreviations"),
    path("abbreviations/<int:pk>/", abbreviations.edit_abbreviation, name="abbreviation"),
    path(
        "abbreviations/<int:pk>/remove/",
        abbreviations.remove_abbreviation,
        name="abbreviation-remove",
    ),
    path("sequences/", sequences.sequences, name="sequences"),
    path("sequences/<int:pk>/", sequences.sequence, name="sequence"),
    path("sequences/<int:pk>/remove/", sequences.remove_sequence, name="sequence-remove"),
    path("sequences/<int:pk>/print/<slug:paper>/", sequences.sequence_file, name="sequence-file"),
]
