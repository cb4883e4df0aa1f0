"""Stored files are there whole or not at all."""

from __future__ import annotations

import os
import threading
import time
from pathlib import Path

import pytest
from django.core.files.base import ContentFile

from bandops.lib.outbox.files import LEFT_AFTER, PART, WholeFiles


class _Full(ContentFile[bytes]):
    """The disk is full at its second piece."""

    def chunks(self, chunk_size: int | None = None) -> object:  # type: ignore[override]
        yield b"%PDF half"
        raise OSError(28, "No space left on device")


def test_a_file_that_cannot_be_finished_is_not_there(tmp_path: Path) -> None:
    storage = WholeFiles(tmp_path)
    with pytest.raises(OSError, match="No space"):
        storage.save("prints/lineup.pdf", _Full(b""))
    assert not [p for p in tmp_path.rglob("*") if p.is_file()]


def test_two_of_the_same_name_are_two_files(tmp_path: Path) -> None:
    storage, names = WholeFiles(tmp_path), list[str]()

    def save(n: int) -> None:
        names.append(storage.save("prints/lineup.pdf", ContentFile(f"{n}".encode() * 50_000)))

    threads = [threading.Thread(target=save, args=(n,)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(names)) == 8
    said = [storage.open(name).read() for name in names]
    assert sorted(text[:1] for text in said) == [f"{n}".encode() for n in range(8)]
    assert all(len(text) == 50_000 and len(set(text)) == 1 for text in said), "none is mixed"
    assert len([p for p in tmp_path.rglob("*") if p.is_file()]) == 8


def test_what_a_dead_worker_began_goes_after_a_day(tmp_path: Path) -> None:
    storage = WholeFiles(tmp_path)
    assert storage.throw_away_left("prints/") == 0, "no folder yet"
    kept = storage.save("prints/lineup.pdf", ContentFile(b"%PDF"))
    old, young = (tmp_path / "prints" / f"{PART}{n}" for n in range(2))
    for path in (old, young, tmp_path / kept):
        path.touch()
    then = time.time() - LEFT_AFTER - 60
    for path in (old, tmp_path / kept):
        os.utime(path, (then, then))
    assert storage.throw_away_left("prints/") == 1
    assert young.exists() and not old.exists() and (tmp_path / kept).exists()
