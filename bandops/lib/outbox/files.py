"""Stored files are there whole or not at all."""

from __future__ import annotations

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
            while not self._reserve(name):
                name = self.get_available_name(name)
            Path(self.path(beside)).replace(self.path(name))
        except OSError:
            self.delete(beside)
            raise
        return name

    def _reserve(self, name: str) -> bool:
        """Take the name; False where somebody just did."""
        try:
            os.close(os.open(self.path(name), os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        except FileExistsError:
            return False
        return True

    def throw_away_left(self, folder: str) -> int:
        """Remove what was begun in a folder and never finished; how many files."""
        place, before, count = Path(self.path(folder)), time.time() - LEFT_AFTER, 0
        for path in place.glob(f"{PART}*") if place.exists() else ():
            if path.stat().st_mtime < before:
                path.unlink(missing_ok=True)
                count += 1
        return count
