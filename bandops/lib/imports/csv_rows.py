"""Rows of a CSV file of any delimiter and encoding."""

from __future__ import annotations

import csv
import io
import re

from bandops.lib.errors import Refused
from bandops.lib.imports.tables import EMPTY, WIDEST, Cell, Numbered, numbered_rows, text_cell

DELIMITERS = ",;\t|"
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""what OWASP's page on CSV injection lists (from memory)"""
DELIMITER_LINE = re.compile(r"\"?sep=([,;\t|])\"?[\r\n]", re.IGNORECASE)
"""a first line that spreadsheets of some countries write for themselves"""
SAMPLE = 2_000
SINGLE_BYTE = ("cp1252", "mac_roman", "cp1250")
MARKED = re.compile(r"(?<=(.))([^\x00-\x7f])(?=(.))", re.DOTALL)
NO_TABLE = "is not a table: save it as .csv or .xlsx."
PAGE = re.compile(r"\s*(<!doctype|<html|<\?xml|\{\\rtf)", re.IGNORECASE)
"""how web pages and documents begin that are saved under a table's name"""
NOT_TEXT = re.compile(r"[\x00-\x08\x0e-\x1a]")


READ_AS = "Read as {} text: check the letters with marks, and save as UTF-8 if one is wrong."


def read_csv(filename: str, content: bytes) -> tuple[Numbered, list[str]]:
    """The rows of a CSV file, and notes; Refused where it is none."""
    if why := _no_text(content[:SAMPLE]):
        raise Refused(f"{filename} {why}")
    text, encoding = decode(content)
    if NOT_TEXT.search(text) or PAGE.match(text):
        raise Refused(f"{filename} {NO_TABLE}")
    notes = [] if encoding in ("utf-8", "ascii") else [READ_AS.format(encoding)]
    hint = DELIMITER_LINE.match(text)
    delimiter = hint[1] if hint else _delimiter(text)
    if delimiter != ",":
        name = {";": "semicolons", "\t": "tabs", "|": "blocks"}[delimiter]
        notes.append(f"Columns are separated by {name}.")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    line = 1
    rows: list[list[Cell]] = []
    try:
        for row in reader:
            rows.append([_csv_cell(value) for value in row[: WIDEST + 1]])
            line = reader.line_num + 1
    except csv.Error as error:
        raise Refused(_csv_fault(filename, line, error)) from error
    if hint:
        rows[0].clear()
    return numbered_rows(filename, rows), notes


def _csv_fault(filename: str, line: int, error: csv.Error) -> str:
    if "field limit" in str(error):
        return f"{filename}, line {line}: a cell is too long. Is a quotation mark not closed?"
    return (
        f"{filename}, line {line}: a cell's quotation marks do not pair. "
        "A cell that begins with one ends with one, and one inside it is doubled."
    )


def decode(content: bytes) -> tuple[str, str]:
    """Text and the name of its encoding."""
    for mark, encoding in (
        (b"\xef\xbb\xbf", "utf-8"),
        (b"\xff\xfe", "utf-16-le"),
        (b"\xfe\xff", "utf-16-be"),
    ):
        if content.startswith(mark):
            return content[len(mark) :].decode(encoding, "replace"), encoding
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return min((_single_bytes(content, e) for e in SINGLE_BYTE), key=lambda t: _odd(t[0]))


def _no_text(sample: bytes) -> str:
    """Why a file is no text, told from its beginning before every encoding is tried on all of
    it; empty for text. Two bytes a letter are read only with their mark."""
    if sample[:2] in (b"\xff\xfe", b"\xfe\xff") or not NOT_TEXT.search(sample.decode("latin-1")):
        return ""
    halves = (sample[::2], sample[1::2])
    if any(10 * half.count(0) > 9 * len(half) for half in halves):
        return "is not a table that can be read: save it as CSV in UTF-8, or as .xlsx."
    return NO_TABLE


def _single_bytes(content: bytes, encoding: str) -> tuple[str, str]:
    return content.decode(encoding, "replace"), encoding


def _odd(text: str) -> int:
    """How many letters with marks stand where names have none; equal encodings keep their order.

    Statistics of language fail on a list of names: Núñez may as well be Núńez.
    """
    found = 0
    for match in MARKED.finditer(text):
        before, character, after = match[1], match[2], match[3]
        if character.isalpha():
            found += character.isupper() and before.isalpha() and before.islower()
            found += character.isupper() and before.isupper() and after.islower()
        elif character == "’":
            found += not before.isalnum()
        else:
            found += character not in "“”–—…°ºª€" or (before.isalpha() and after.isalpha())
    return found


def _delimiter(text: str) -> str:
    """The delimiter that splits the first lines into more than one column, and most evenly."""
    sample = text[:20_000]

    def score(delimiter: str) -> tuple[bool, bool, int, int, int]:
        rows = csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter)
        widths = [len(row) for _, row in zip(range(20), rows, strict=False) if row]
        # A title above the headers splits nowhere, or otherwise than all below it.
        at = next((n for n, width in enumerate(widths) if width > 1), len(widths))
        first = widths[at] if at < len(widths) else 0
        even = sum(width == first for width in widths)
        return at == 0 and first > 2, even > 1, -at, even, first

    return max(DELIMITERS, key=score)


def _csv_cell(value: str) -> Cell:
    if not value:
        return EMPTY
    if value[0] == "'" and value.lstrip("'").startswith(FORMULA_STARTS):
        value = value[1:]
    return text_cell(value)
