"""Stored files are there whole or not at all."""

from __future__ import annotations

import contextlib
import os
import posixpath
import time
import uuid
from pathlib import Path
from typing import Any

from django.core.files.base import File
from django.core.files.storage import FileSystemStorage

PART = ".part-"
LEFT_AFTER = 24 * 3600
"""seconds after which nobody is writing a file any more"""


class WholeFiles(FileSystemStorage):
    """Writes beside and moves over: a disk that fills up, or a worker that dies, leaves no file
    that looks like a print and is half of one."""

    def _save(self, name: str, content: File[Any]) -> str:
        beside = posixpath.join(posixpath.dirname(name), f"{PART}{uuid.uuid4().hex}")
        try:
            super()._save(beside, content)  # type: ignore[misc]
            _on_disk(Path(self.path(beside)))
            return self._named(beside, name)
        finally:
            self.delete(beside)

    def _named(self, beside: str, name: str) -> str:
        """Give the file its name, or another where somebody has just taken it."""
        while True:
            try:
                os.link(self.path(beside), self.path(name))
                return name
            except FileExistsError:
                name = self.get_available_name(name)
            except OSError:  # no hard links on this disk: by a name that nobody else takes
                root, ending = posixpath.splitext(name)
                name = f"{root}-{uuid.uuid4().hex}{ending}"
                Path(self.path(beside)).replace(self.path(name))
                return name

    def throw_away_left(self, folder: str) -> int:
        """Remove what was begun in a folder and never finished; how many files."""
        place, before, count = Path(self.path(folder)), time.time() - LEFT_AFTER, 0
        for path in place.glob(f"{PART}*") if place.exists() else ():
            with contextlib.suppress(FileNotFoundError):  # it was finished in this moment
                if path.stat().st_mtime < before:
                    path.unlink()
                    count += 1
        return count


def _on_disk(path: Path) -> None:
    """A power cut after this does not lose it."""
    with path.open("rb") as file:
        os.fsync(file.fileno())
