"""Import with review, undo, exports, and the page that explains the columns."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.audit.recording import record_view
from bandops.lib.errors import Refused
from bandops.lib.exports.tables import table_response
from bandops.lib.imports import posts
from bandops.lib.imports.access import brings_in, export_for, exports_for, kind_for, kinds_for
from bandops.lib.imports.forms import UploadForm
from bandops.lib.imports.kept_words import kept_words
from bandops.lib.imports.models import LONGEST_SHEET, ImportBatch, ImportUpload
from bandops.lib.imports.remembered import mapping_for, read_as_before
from bandops.lib.imports.rest import rest_of
from bandops.lib.imports.reviewing import Review
from bandops.lib.imports.sheets import choose_sheet, is_rest, rest_beside, sheet_rows
from bandops.lib.imports.undo import undo_import
from bandops.lib.steps import Step, next_step
from bandops.lib.web import rules
from bandops.lib.web.forms import whole_number
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page

MENU = "imports"
REST_NAME = "rows-to-fix"
LONGEST_NAME = 200


@page(brings_in, MENU)
def imports(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What can come in and go out, and what came in."""
    context = {
        "kinds": kinds_for(viewer),
        "batches": _batches(viewer).select_related("by")[:30],
        "exports": exports_for(viewer),
        **_just_saved(request, viewer),
    }
    return render(request, "imports/list.html", context)


def _just_saved(request: HttpRequest, viewer: Viewer) -> dict[str, Any]:
    """The import that was saved a moment ago, and what comes next."""
    number = whole_number(request.GET.get("saved", ""))
    if number is None:
        return {}
    saved = _batches(viewer).filter(pk=number, undone_at__isnull=True).first()
    return {"saved": saved, "step": _step(viewer)} if saved else {}


def _batches(viewer: Viewer) -> QuerySet[ImportBatch]:
    """The imports that the viewer could have made; staff see those of kinds that are no more."""
    made = ImportBatch.objects.all()
    return made if viewer.is_staff else made.filter(kind__in=[k.key for k in kinds_for(viewer)])


def _step(viewer: Viewer) -> Step | None:
    """What comes next in setting up a season, which is for staff."""
    return next_step(viewer.this_season) if viewer.is_staff else None


@page(brings_in, MENU)
def upload(request: HttpRequest, viewer: Viewer, kind_key: str) -> HttpResponse:
    """Choose a file; nothing is saved in the band's data yet."""
    kind = kind_for(viewer, kind_key)
    form = UploadForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        name = file.name[-LONGEST_NAME:]
        try:
            content = file.read(settings.IMPORT_MAX_BYTES + 1)
            table = read_as_before(kind, name, content)
        except Refused as error:
            form.add_error("file", error.message)
        else:
            ImportUpload.throw_away_old()
            kept = ImportUpload.objects.create(
                kind=kind.key,
                filename=name,
                content=content,
                mapping=mapping_for(kind, table),
                sheet=table.sheet[:LONGEST_SHEET],
                by=viewer.signed_in,
            )
            return redirect("import-review", pk=kept.pk)
    return render(request, "imports/upload.html", {"kind": kind, "form": form})


@page(brings_in, MENU)
def review(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Which column is what, every unknown word, every change, every error by row and column."""
    shown = _review(viewer, pk)
    if request.method == "POST":
        return posts.answer(request, shown)
    step = _step(viewer) if is_rest(shown.kept) else None
    return render(request, "imports/review.html", {**shown.context(), "step": step})


@page(brings_in, MENU)
def sheets(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What else a file holds, once some of it is saved: each sheet is reviewed from here."""
    kept = get_object_or_404(ImportUpload, pk=pk, by=viewer.signed_in)
    if request.method == "POST":
        kind = kind_for(viewer, request.POST.get("kind", ""))
        choose_sheet(kept, request.POST.get("sheet", ""), kind)
        return redirect("import-review", pk=pk)
    among = kinds_for(viewer)
    rows = sheet_rows(kept, among)
    context = {
        "kept": kept,
        "rest": rest_beside(kept),
        "kinds": among,
        "sheets": rows,
        "first": next((row for row in rows if row.likely), None),
        "open": any(row.rows and not row.saved for row in rows),
        "step": _step(viewer),
    }
    return render(request, "imports/sheets.html", context)


@page(brings_in, MENU)
def rest(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The rows that were set aside or are wrong, as a file to fix and bring back."""
    shown = _review(viewer, pk)
    headers, rows = rest_of(shown.file, shown.to_fix | shown.at_fault())
    return table_response(REST_NAME, "csv", headers, rows)


def _review(viewer: Viewer, pk: int) -> Review:
    kept = get_object_or_404(ImportUpload, pk=pk, by=viewer.signed_in)
    kind_for(viewer, kept.kind)
    return Review(kept, viewer.this_season, viewer.signed_in, kinds_for(viewer))


@page(rules.staff, MENU)
def words(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The words of files that the season knows; each can be given another meaning, or none."""
    season = viewer.this_season
    rows = kept_words(season)
    if request.method == "POST":
        done(request, posts.change_word(request.POST, rows, viewer.signed_in, season))
        return redirect("import-words")
    return render(request, "imports/words.html", {"rows": rows})


@require_POST
@page(brings_in, MENU)
def undo(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Take an import back in one step."""
    batch = get_object_or_404(ImportBatch, pk=pk)
    if not _batches(viewer).filter(pk=pk).exists():
        raise PermissionDenied
    undo_import(actor=viewer.signed_in, batch=batch)
    done(request, f"Undid the import of {batch.filename}.")
    return redirect("imports")


@page(brings_in, MENU)
def columns(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The page that explains the columns."""
    return render(request, "imports/columns.html", {"kinds": kinds_for(viewer)})


@page(brings_in, MENU)
def export(request: HttpRequest, viewer: Viewer, name: str, form: str) -> HttpResponse:
    """A table as CSV or XLSX, in the columns the import reads."""
    maker = export_for(viewer, name)
    if form not in ("csv", "xlsx"):
        raise Http404
    if maker.private:
        record_view(viewer.signed_in, maker.table, "list", maker.private)
    headers, rows = maker.rows_for(viewer)
    return table_response(name, form, headers, rows)
