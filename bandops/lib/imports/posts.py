"""What the forms of a review send: columns, a sheet, words, rows, and that it is to be saved."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.exports.tables import to_csv
from bandops.lib.imports import kinds
from bandops.lib.imports.answering import choose_for_all, keep_answers, kept_for_all
from bandops.lib.imports.kept_words import KeptRow
from bandops.lib.imports.models import ImportUpload
from bandops.lib.imports.presets import answers_read
from bandops.lib.imports.questions import Question, answers_of
from bandops.lib.imports.remembered import remember_columns, remember_sheet
from bandops.lib.imports.rest import rest_of, rows_named
from bandops.lib.imports.reviewing import Review
from bandops.lib.imports.sheets import REST, choose_sheet, holds_more, note_saved
from bandops.lib.imports.words import FORGET, KEEP, Answer, word_key, word_kind
from bandops.lib.web.messages import done, refuse


def answer(request: HttpRequest, review: Review) -> HttpResponse:
    """Do what the form asks, and show where to go on."""
    do = ACTIONS.get(request.POST.get("what", ""), _accept)
    try:
        message = do(review, request.POST)
    except Refused as error:
        refuse(request, error)
    else:
        if message:
            done(request, message)
        if do is _accept:
            return _after_saving(review)
    there = ImportUpload.objects.filter(pk=review.kept.pk).exists()
    return redirect("import-review", pk=review.kept.pk) if there else redirect("imports")


def _after_saving(review: Review) -> HttpResponse:
    """Where to go on: the rows to fix, the other sheets, or the list of imports."""
    kept = review.kept
    if kept.pk is not None and kept.saved_sheets:
        return redirect("import-sheets", pk=kept.pk)
    if kept.pk is None:
        saved = f"?saved={review.saved.pk}" if review.saved else ""
        return redirect(f"{reverse('imports')}{saved}")
    return redirect("import-review", pk=kept.pk)


def _columns(review: Review, sent: QueryDict) -> str:
    keys = {column.key for column in review.kind.columns}
    chosen: dict[str, int] = {}
    for position in range(len(review.file.headers)):
        key = sent.get(f"column-{position}", "")
        if key in keys:
            chosen.setdefault(key, position)
    review.kept.mapping, review.kept.answers = chosen, kept_for_all(review.kept)
    review.kept.save()
    remember_columns(review.kind, review.file, chosen)
    return ""


def _sheet(review: Review, sent: QueryDict) -> str:
    """Another sheet is another table: what was chosen of the first one's rows goes."""
    kept, sheet = review.kept, sent.get("sheet", "")
    if sheet not in review.file.sheets:
        raise Refused("The file has no such sheet.")
    choose_sheet(kept, sheet, review.kind)
    return ""


def _words(review: Review, sent: QueryDict) -> str:
    """Keep what is answered for the season; leave out rows of words that mean nothing here."""
    meanings, left, added = answers_of([*review.questions, *review.presets], sent)
    with recorded(review.actor, "keep words"):
        meanings += _added(added, review)
        if meanings:
            KEEP.ask(review.actor, review.season, meanings)
    for question in left:
        reason = f"{question.columns[0]}: {question.message}"
        review.kept.left_out |= {str(row): reason for row in question.rows if row}
    review.kept.save()
    count = len(meanings)
    return f"{count} word{'' if count == 1 else 's'} kept for the season." if count else ""


def _added(questions: Sequence[Question], review: Review) -> list[Answer]:
    """Add what words name; two words for one thing add it once."""
    values: dict[tuple[str, str], str] = {}
    for question in questions:
        kind, name = word_kind(question.kind), question.new_name
        if kind.add is None:
            raise Refused(f"A {kind.title} cannot be added here.")
        if (kind.key, word_key(name)) not in values:
            value = kind.add(review.actor, review.season, name)
            values[kind.key, word_key(name)] = value
    return [
        Answer(q.kind, q.text, values[q.kind, word_key(q.new_name)], q.new_name) for q in questions
    ]


def _rows(review: Review, sent: QueryDict) -> str:
    """Which rows are left out: those ticked in the list, and more by their numbers."""
    ticked = set(sent.getlist("out"))
    listed = {str(row["number"]) for row in review.out()}
    try:
        more = rows_named(sent.get("more", ""), review.numbers)
    except ValueError as error:
        raise Refused(str(error)) from error
    kept = review.kept
    asides = {str(aside.row.number) for aside in review.file.asides}
    back = listed - ticked
    out = {row: why for row, why in kept.left_out.items() if row not in back}
    kept.left_out = out | {str(row): "" for row in more if str(row) not in out}
    taken = {str(row) for row in kept.taken_in} | (back & asides)
    kept.taken_in = sorted(int(row) for row in taken if row not in kept.left_out)
    kept.save()
    return ""


def _aside(review: Review, sent: QueryDict) -> str:
    """Set all rows with errors aside, so that the others can be saved."""
    kept = review.kept
    out = review.at_fault()
    if not out:
        raise Refused("The problem is with the whole file, not with some rows.")
    kept.left_out |= {str(row): reason for row, reason in out.items()}
    kept.save()
    return f"{len(out)} row{'' if len(out) == 1 else 's'} set aside. Check the rest, then save it."


def _answers(review: Review, sent: QueryDict) -> str:
    """Keep how free text is read, as it was accepted or corrected row by row."""
    keep_answers(review.kept, sent, review.kind, review.read, review.season)
    return ""


def _all(review: Review, sent: QueryDict) -> str:
    """One choice for all rows that lack it."""
    if review.chooser is None:
        raise Refused("Every row in the file already says so.")
    choose_for_all(review.kept, review.chooser, sent.get("value", ""))
    return ""


def _leave(review: Review, sent: QueryDict) -> str:
    name = review.kept.filename
    ImportUpload.objects.filter(pk=review.kept.pk).delete()
    return f"{name} was thrown away; nothing was saved."


def _accept(review: Review, sent: QueryDict) -> str:
    """Save what is shown, with the words it was read by; what was set aside stays as a file of
    its own."""
    kept = review.kept
    presets = answers_read(review.presets)
    lasting = [answer for answer in presets if not word_kind(answer.kind).later]
    with transaction.atomic():
        if lasting:
            KEEP.ask(review.actor, review.season, lasting)
        batch = kinds.accept(
            actor=review.actor,
            kind=review.kind,
            filename=kept.filename,
            table=review.table,
            mapping=review.mapping,
            season=review.season,
            digest=sent.get("digest"),
            sure=sent.get("sure") == "yes",
            presets=presets,
        )
    review.saved = batch
    if len(review.file.sheets) > 1:
        remember_sheet(review.kind, review.file, review.file.sheet)
    said = f"{batch.filename}: {batch.added} added, {batch.changed} changed."
    left = len(review.to_fix)
    more = holds_more(kept, review.file, review.mapping.values(), review.kinds)
    if left:
        _keep_rest(review, beside=more)
    elif not more:
        kept.delete()
    if more:
        note_saved(kept, review.file.sheet)
    if not left:
        return said
    rows = f"{left} row{'' if left == 1 else 's'}"
    return f"{said} {rows} to fix: answer what is asked here, or download them and fix the file."


def _keep_rest(review: Review, *, beside: bool) -> None:
    """The upload becomes the rows that were set aside, in the same columns; beside a file that
    holds more they are an upload of their own."""
    kept = review.kept
    headers, rows = rest_of(review.file, review.to_fix)
    rest = kept
    if beside:
        rest = ImportUpload(kind=kept.kind, mapping=kept.mapping, by=kept.by)
    rest.filename = f"{REST}{kept.filename.removeprefix(REST)}"[:200]
    rest.content, rest.sheet = to_csv(headers, rows), ""
    rest.left_out, rest.taken_in, rest.answers = {}, [], kept_for_all(kept)
    rest.save()


ACTIONS = {
    "columns": _columns,
    "sheet": _sheet,
    "words": _words,
    "rows": _rows,
    "aside": _aside,
    "answers": _answers,
    "all": _all,
    "leave": _leave,
    "accept": _accept,
}


def change_word(sent: QueryDict, rows: Sequence[KeptRow], actor: User, season: Any) -> str:
    """Give a kept word another meaning, or forget it; says what was done."""
    which = (sent.get("kind"), sent.get("text"))
    row = next((row for row in rows if (row.word.kind, row.word.text) == which), None)
    if row is None:
        raise Refused("This word is no longer kept.")
    if sent.get("what") == "forget":
        FORGET.ask(actor, season, row.word.kind, row.word.text)
        return f"“{row.word.text}” is forgotten: the next file asks again."
    choice = row.choice(sent.get("meaning", ""))
    if choice is None:
        raise Refused("Choose what the word means.")
    KEEP.ask(actor, season, [Answer(row.word.kind, row.word.text, choice.value, choice.label)])
    return f"“{row.word.text}” now means {choice.label}."
