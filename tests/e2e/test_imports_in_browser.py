"""A workbook in the browser: words read and asked about, the next sheet, at both widths."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import FilePayload

from bandops.lib.imports.models import ImportUpload
from tests.e2e.conftest import PHONE, WIDE, OpenPage, Week
from tests.e2e.looking import look
from tests.lib.test_imports_remembered import book_of

pytestmark = pytest.mark.django_db(transaction=True)

SHEETS = {
    "Roster": [
        ["Name (Last, First)", "Horn", "Yr"],
        ["Abelard, Wren", "Trump", "2nd"],
        ["Birch, Tove", "clarinet", "1st"],
        ["Coombe, Lark", "Kazoo", "Jr"],
        ["Dunmore, Ida", "Euph", "Jr"],
    ],
    "Formation": [["Rank", "1", "2", "3"], ["7", "Wren Abelard (RL)", "OPEN", "Tove Birch"]],
    "Notes": [["Ask the office"]],
}


@pytest.mark.parametrize("width", [WIDE, PHONE])
def test_a_workbook_is_reviewed_and_saved_sheet_by_sheet(
    width: int, week: Week, open_page: OpenPage
) -> None:
    watched = open_page(week.cast.director, width)
    page = watched.go(reverse("import-upload", args=["members"]))
    file: FilePayload = {"name": "band.xlsx", "mimeType": "", "buffer": book_of(**SHEETS)}
    page.get_by_label("File").set_input_files(files=[file])
    page.get_by_role("button", name="Look at it").click()
    page.get_by_role("heading", name="2 words to explain").wait_for()
    page.get_by_role("heading", name="3 words read without asking").wait_for()
    kept = ImportUpload.objects.get(filename="band.xlsx")
    wrong = look(watched, reverse("import-review", args=[kept.pk]))
    page.get_by_label("“Kazoo”").select_option(label="Leave these rows out")
    page.get_by_role("button", name="Use these meanings").first.click()
    page.get_by_role("button", name="Save the 3 good rows").click()
    page.get_by_role("link", name="Fix the rows that were set aside").wait_for()
    wrong += look(watched, reverse("import-sheets", args=[kept.pk]))
    page.get_by_role("button", name="Review Formation").click()
    page.get_by_text("Marked as leaders").wait_for()
    assert not wrong, "\n".join(wrong)
    watched.quiet()
