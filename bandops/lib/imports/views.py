"""Import with review, undo, exports, and the page that explains the columns."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.audit.recording import record_view
from bandops.lib.errors import Refused
from bandops.lib.exports import kinds as exports
from bandops.lib.exports.tables import table_response
from bandops.lib.imports import kinds, posts
from bandops.lib.imports.forms import UploadForm
from bandops.lib.imports.kept_words import kept_words
from bandops.lib.imports.models import LONGEST_SHEET, ImportBatch, ImportUpload
from bandops.lib.imports.remembered import mapping_for, read_as_before
from bandops.lib.imports.rest import rest_of
from bandops.lib.imports.reviewing import Review
from bandops.lib.imports.sheets import choose_sheet, is_rest, rest_beside, sheet_rows
from bandops.lib.imports.undo import undo_import
from bandops.lib.steps import next_step
from bandops.lib.web import rules
from bandops.lib.web.forms import whole_number
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page

MENU = "imports"
REST_NAME = "rows-to-fix"
LONGEST_NAME = 200


@page(rules.staff, MENU)
def imports(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What can come in and go out, and what came in."""
    context = {
        "kinds": kinds.all_kinds(),
        "batches": ImportBatch.objects.select_related("by")[:30],
        "exports": exports.all_exports(),
        **_just_saved(request, viewer),
    }
    return render(request, "imports/list.html", context)


def _just_saved(request: HttpRequest, viewer: Viewer) -> dict[str, Any]:
    """The import that was saved a moment ago, and what comes next."""
    number = whole_number(request.GET.get("saved", ""))
    if number is None:
        return {}
    saved = ImportBatch.objects.filter(pk=number, undone_at__isnull=True).first()
    return {"saved": saved, "step": next_step(viewer.this_season)} if saved else {}


@page(rules.staff, MENU)
def upload(request: HttpRequest, viewer: Viewer, kind_key: str) -> HttpResponse:
    """Choose a file; nothing is saved in the band's data yet."""
    kind = _kind(kind_key)
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


@page(rules.staff, MENU)
def review(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Which column is what, every unknown word, every change, every error by row and column."""
    shown = _review(viewer, pk)
    if request.method == "POST":
        return posts.answer(request, shown)
    step = next_step(viewer.this_season) if is_rest(shown.kept) else None
    return render(request, "imports/review.html", {**shown.context(), "step": step})


@page(rules.staff, MENU)
def sheets(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What else a file holds, once some of it is saved: each sheet is reviewed from here."""
    kept = get_object_or_404(ImportUpload, pk=pk, by=viewer.signed_in)
    if request.method == "POST":
        kind = _kind(request.POST.get("kind", ""))
        choose_sheet(kept, request.POST.get("sheet", ""), kind)
        return redirect("import-review", pk=pk)
    rows = sheet_rows(kept)
    context = {
        "kept": kept,
        "rest": rest_beside(kept),
        "kinds": kinds.all_kinds(),
        "sheets": rows,
        "first": next((row for row in rows if row.likely), None),
        "open": any(row.rows and not row.saved for row in rows),
        "step": next_step(viewer.this_season),
    }
    return render(request, "imports/sheets.html", context)


@page(rules.staff, MENU)
def rest(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The rows that were set aside or are wrong, as a file to fix and bring back."""
    shown = _review(viewer, pk)
    headers, rows = rest_of(shown.file, shown.to_fix | shown.at_fault())
    return table_response(REST_NAME, "csv", headers, rows)


def _review(viewer: Viewer, pk: int) -> Review:
    kept = get_object_or_404(ImportUpload, pk=pk, by=viewer.signed_in)
    _kind(kept.kind)
    return Review(kept, viewer.this_season, viewer.signed_in)


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
@page(rules.staff, MENU)
def undo(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Take an import back in one step."""
    batch = get_object_or_404(ImportBatch, pk=pk)
    undo_import(actor=viewer.signed_in, batch=batch)
    done(request, f"Undid the import of {batch.filename}.")
    return redirect("imports")


@page(rules.staff, MENU)
def columns(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The page that explains the columns."""
    return render(request, "imports/columns.html", {"kinds": kinds.all_kinds()})


@page(rules.staff, MENU)
def export(request: HttpRequest, viewer: Viewer, name: str, form: str) -> HttpResponse:
    """A table as CSV or XLSX, in the columns the import reads."""
    maker = exports.export_of(name)
    if maker is None or form not in ("csv", "xlsx"):
        raise Http404
    if maker.private:
        record_view(viewer.signed_in, maker.table, "list", maker.private)
    headers, rows = maker.rows(viewer.this_season)
    return table_response(name, form, headers, rows)


def _kind(key: str) -> kinds.ImportKind:
    try:
        return kinds.kind_of(key)
    except KeyError:
        raise Http404 from None
