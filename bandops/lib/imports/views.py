"""Import with review, undo, exports, and the page that explains the columns."""

from __future__ import annotations

import datetime
from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.audit.recording import record_view
from bandops.lib.errors import Refused
from bandops.lib.exports import kinds as exports
from bandops.lib.exports.tables import table_response
from bandops.lib.imports import kinds
from bandops.lib.imports.answering import answered_table, keep_answers, proposals
from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.forms import UploadForm
from bandops.lib.imports.models import ImportBatch, ImportUpload
from bandops.lib.imports.plan import Action, Line
from bandops.lib.imports.tables import Table
from bandops.lib.imports.told import told
from bandops.lib.imports.undo import undo_import
from bandops.lib.web import rules
from bandops.lib.web.messages import done, refuse
from bandops.lib.web.pages import page

MENU = "imports"
SHOWN_LINES = 400
LONGEST_NAME = 200
KEPT = datetime.timedelta(days=2)


@page(rules.staff, MENU)
def imports(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What can come in and go out, and what came in. Files left lying are thrown away."""
    ImportUpload.objects.filter(at__lt=timezone.now() - KEPT).delete()
    context = {
        "kinds": kinds.all_kinds(),
        "batches": ImportBatch.objects.select_related("by")[:30],
        "exports": exports.all_exports(),
    }
    return render(request, "imports/list.html", context)


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
            table = kind.read(name, content)
        except Refused as error:
            form.add_error("file", error.message)
        else:
            kept = ImportUpload.objects.create(
                kind=kind.key,
                filename=name,
                content=content,
                mapping=match_headers(table.headers, kind.columns),
                by=viewer.signed_in,
            )
            return redirect("import-review", pk=kept.pk)
    return render(request, "imports/upload.html", {"kind": kind, "form": form})


@page(rules.staff, MENU)
def review(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Which column is what, every change, every error by row and column."""
    kept = get_object_or_404(ImportUpload, pk=pk, by=viewer.signed_in)
    kind = _kind(kept.kind)
    table = kind.read(kept.filename, bytes(kept.content))
    if request.method == "POST":
        if request.POST.get("what") == "columns":
            kept.mapping, kept.answers = _chosen(request, table, kind), {}
            kept.save()
            return redirect("import-review", pk=pk)
        if request.POST.get("what") == "answers":
            keep_answers(kept, request.POST, kind, table, viewer.this_season)
            return redirect("import-review", pk=pk)
        if request.POST.get("what") == "leave":
            kept.delete()
            done(request, f"{kept.filename} is thrown away; nothing was saved.")
            return redirect("imports")
        return _accept(request, viewer, kept, kind, table)
    filled, mapping = answered_table(kind, table, kept)
    plan = kind.plan(filled, mapping, viewer.this_season, viewer.signed_in)
    lines = [line for line in plan.lines if line.action is not Action.SAME and line.label]
    columns = _columns(table, kind, kept.mapping)
    faults, faults_hidden = told(plan.faults)
    remarks, remarks_hidden = told(plan.remarks)
    context = {
        "kept": kept,
        "kind": kind,
        "table": table,
        "plan": plan,
        "faults": faults,
        "faults_hidden": faults_hidden,
        "remarks": remarks,
        "remarks_hidden": remarks_hidden,
        "columns": columns,
        "proposals": proposals(kind, table, kept, viewer.this_season),
        "left_out": [c["header"] for c in columns if not c["key"]],
        "lines": lines[:SHOWN_LINES],
        "hidden": max(0, len(lines) - SHOWN_LINES),
        "same": plan.count(Action.SAME) - _silent(plan.lines),
    }
    return render(request, "imports/review.html", context)


def _silent(lines: list[Line]) -> int:
    return sum(not line.label for line in lines)


def _columns(table: Table, kind: kinds.ImportKind, mapping: dict[str, int]) -> list[dict[str, Any]]:
    """Each column of the file with what it is taken for and its first values."""
    taken = {position: key for key, position in mapping.items()}
    return [
        {
            "position": position,
            "header": header or f"(column {position + 1}, no header)",
            "key": taken.get(position, ""),
            "samples": [r.cell(position).text for r in table.rows[:3]],
        }
        for position, header in enumerate(table.headers)
    ]


def _chosen(request: HttpRequest, table: Table, kind: kinds.ImportKind) -> dict[str, int]:
    keys = {column.key for column in kind.columns}
    chosen: dict[str, int] = {}
    for position in range(len(table.headers)):
        key = request.POST.get(f"column-{position}", "")
        if key in keys:
            chosen.setdefault(key, position)
    return chosen


def _accept(
    request: HttpRequest, viewer: Viewer, kept: ImportUpload, kind: kinds.ImportKind, table: Table
) -> HttpResponse:
    filled, mapping = answered_table(kind, table, kept)
    try:
        batch = kinds.accept(
            actor=viewer.signed_in,
            kind=kind,
            filename=kept.filename,
            table=filled,
            mapping=mapping,
            season=viewer.this_season,
            digest=request.POST.get("digest"),
            sure=request.POST.get("sure") == "yes",
        )
    except Refused as error:
        refuse(request, error)
        return redirect("import-review", pk=kept.pk)
    kept.delete()
    done(request, f"{batch.filename}: {batch.added} added, {batch.changed} changed.")
    return redirect("imports")


@require_POST
@page(rules.staff, MENU)
def undo(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Take an import back in one step."""
    batch = get_object_or_404(ImportBatch, pk=pk)
    undo_import(actor=viewer.signed_in, batch=batch)
    done(request, f"The import of {batch.filename} is undone.")
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
