"""What the tests of imports and exports share: files in memory, plans, dumps of every table."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from openpyxl import Workbook

from bandops.lib.accounts.models import User
from bandops.lib.audit.triggers import audited_models
from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.kinds import accept, kind_of
from bandops.lib.imports.models import ImportBatch, ImportUpload
from bandops.lib.imports.plan import Action, Plan
from roster.people.models import Season

Dump = dict[str, list[tuple[Any, ...]]]


def csv_file(*rows: Sequence[object], delimiter: str = ",") -> bytes:
    """A CSV file in UTF-8 without a byte-order mark."""
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter).writerows(rows)
    return out.getvalue().encode()


def xlsx_file(*rows: Sequence[Any], text: bool = True) -> bytes:
    """A workbook of one sheet; texts are text cells, even those that begin with =."""
    book = Workbook()
    sheet = book.active
    for row in rows:
        sheet.append(list(row))
    for cells in sheet.iter_rows():
        for cell in cells:
            if text and isinstance(cell.value, str):
                cell.data_type = "s"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def plan_of(kind_key: str, content: bytes, season: Season, actor: User) -> Plan:
    """The plan of a file with the columns matched by their headers."""
    kind = kind_of(kind_key)
    table = kind.read("file.csv", content)
    return kind.plan(table, match_headers(table.headers, kind.columns), season, actor)


def accept_file(
    kind_key: str, content: bytes, season: Season, actor: User, *, sure: bool = False
) -> ImportBatch:
    """Import a file as the page does, with the digest of its preview."""
    kind = kind_of(kind_key)
    table = kind.read("file.csv", content)
    mapping = match_headers(table.headers, kind.columns)
    digest = kind.plan(table, mapping, season, actor).digest
    return accept(
        actor=actor,
        kind=kind,
        filename="file.csv",
        table=table,
        mapping=mapping,
        season=season,
        digest=digest,
        sure=sure,
    )


def faults(plan: Plan) -> list[tuple[int, str]]:
    """Row and column of each fault."""
    return [(fault.row, fault.column) for fault in plan.faults]


def actions(plan: Plan) -> list[str]:
    """What the shown lines do, in their order."""
    return [line.action.value for line in plan.lines if line.label]


def all_same(plan: Plan) -> bool:
    """True when the file would change nothing and nothing in it is wrong."""
    return not plan.faults and {line.action for line in plan.lines} <= {Action.SAME}


def dump() -> Dump:
    """Every row of every audited table but the imports' own list."""
    tables: Dump = {}
    for model in audited_models():
        if model is not ImportBatch:
            names = [field.attname for field in model._meta.concrete_fields]
            rows = model._base_manager.order_by("pk").values_list(*names)
            tables[model._meta.db_table] = [tuple(map(repr, row)) for row in rows]
    return tables


def upload(client: Client, kind_key: str, content: bytes, name: str = "file.csv") -> Any:
    """Post a file to the import page; the review page when it was read, else the form again."""
    file = SimpleUploadedFile(name, content)
    return client.post(reverse("import-upload", args=[kind_key]), {"file": file}, follow=True)


def accept_shown(client: Client, page: Any) -> Any:
    """Press the review page's button."""
    data = {"what": "accept", "digest": page.context["plan"].digest}
    return client.post(page.request["PATH_INFO"], data, follow=True)


def words(page: Any) -> str:
    """The page's text, with entities as people see them."""
    from html import unescape

    return unescape(page.content.decode())


def uploads() -> int:
    """Files waiting for review."""
    return ImportUpload.objects.count()
