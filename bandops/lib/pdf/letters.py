"""Letters that no font of this machine has, and which package would bring one.

A print takes each letter from its own font or, failing that, from any font that fontconfig knows;
where none has it, the paper shows an empty box. So it is asked before anything is printed.
"""

from __future__ import annotations

import ctypes
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

OWN = Path(__file__).resolve().parent / "fonts" / "SourceSans3-Regular.ttf"
LIBRARIES = ("libfontconfig.so.1", "libfontconfig.1.dylib")
EAST_ASIAN = ("CJK", "HANGUL", "HIRAGANA", "KATAKANA", "BOPOMOFO", "IDEOGRAPHIC", "YI")
"""what names of letters begin with that fonts-noto-cjk has"""


@dataclass(frozen=True)
class Unprintable:
    """A name with the letters that would be empty boxes."""

    name: str
    letters: str


@dataclass(frozen=True)
class Lacking:
    """Names that cannot be printed, and the packages whose fonts have their letters."""

    names: tuple[Unprintable, ...]
    packages: tuple[str, ...]


def lacking(names: Iterable[str]) -> Lacking | None:
    """What stands in the way of printing these names; None where nothing does."""
    found = tuple(Unprintable(name, letters) for name in names if (letters := missing(name)))
    if not found:
        return None
    packages = {package_of(letter) for one in found for letter in one.letters}
    return Lacking(found, tuple(sorted(packages)))


def missing(text: str) -> str:
    """The letters of a text that no font has, each once."""
    return "".join(dict.fromkeys(letter for letter in text if not can_show(letter)))


@cache
def can_show(letter: str) -> bool:
    """Whether some font has the letter; remembered, for fonts do not come while we run."""
    if unicodedata.category(letter) in ("Cc", "Cf", "Zs", "Zl", "Zp"):
        return True
    return ord(letter) in _own() or _fonts().has(ord(letter))


def package_of(letter: str) -> str:
    """The Debian package whose fonts have a letter of its kind."""
    if unicodedata.name(letter, "").startswith(EAST_ASIAN):
        return "fonts-noto-cjk"
    if unicodedata.category(letter) == "So":
        return "fonts-noto-color-emoji"
    return "fonts-noto-core"


@cache
def _own() -> frozenset[int]:
    from fontTools.ttLib import TTFont

    with TTFont(OWN, lazy=True) as font:
        return frozenset(font.getBestCmap())


class _FontSet(ctypes.Structure):
    _fields_ = (
        ("count", ctypes.c_int),
        ("room", ctypes.c_int),
        ("fonts", ctypes.POINTER(ctypes.c_void_p)),
    )


class _Fonts:
    """The letters of all fonts that fontconfig knows, in one set of its own making."""

    def __init__(self) -> None:
        self.library = _library()
        self.letters = self._gather() if self.library else None

    def has(self, code: int) -> bool:
        """Without fontconfig there are no prints either, and nothing to warn of."""
        if self.library is None:
            return True
        return bool(self.library.FcCharSetHasChar(self.letters, ctypes.c_uint32(code)))

    def _gather(self) -> ctypes.c_void_p:
        fc = self.library
        assert fc is not None
        wanted = ctypes.c_void_p(fc.FcObjectSetCreate())
        fc.FcObjectSetAdd(wanted, b"charset")
        pattern = ctypes.c_void_p(fc.FcPatternCreate())
        found = fc.FcFontList(None, pattern, wanted)
        letters = ctypes.c_void_p(fc.FcCharSetCreate())
        for n in range(found.contents.count):
            of_font = ctypes.c_void_p()
            font = ctypes.c_void_p(found.contents.fonts[n])
            if fc.FcPatternGetCharSet(font, b"charset", 0, ctypes.byref(of_font)) == 0:
                fc.FcCharSetMerge(letters, of_font, None)
        fc.FcFontSetDestroy(found)
        fc.FcPatternDestroy(pattern)
        fc.FcObjectSetDestroy(wanted)
        return letters


@cache
def _fonts() -> _Fonts:
    return _Fonts()


def _library() -> ctypes.CDLL | None:
    """The fontconfig that the PDF writer uses; ``None`` for a configuration is its own."""
    for name in LIBRARIES:
        try:
            fc = ctypes.CDLL(name)
        except OSError:
            continue
        for made in ("FcObjectSetCreate", "FcPatternCreate", "FcCharSetCreate"):
            getattr(fc, made).restype = ctypes.c_void_p
        fc.FcFontList.restype = ctypes.POINTER(_FontSet)
        return fc
    return None
