"""A person's name read as people write it: in either order, with a nickname, initials, a suffix.

``read_name`` takes one text, ``read_columns`` a first and a last name. Nothing is looked up here:
what a comma does not say (where the family name begins) is only likely, so that comparing two
names (``Likeness``) goes by words.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from enum import IntEnum
from functools import lru_cache

from bandops.lib.names import clean_name, plain

COMMAS = re.compile("[,\N{FULLWIDTH COMMA}\N{ARABIC COMMA}\N{IDEOGRAPHIC COMMA}]")
NICKNAME = re.compile(
    r"""
      ["“”„«](?P<double>[^"“”„«»()\[\]]+)["“”»]
    | \((?P<round>[^()]+)\)
    | \[(?P<square>[^\[\]]+)\]
    | (?<!\w)['‘‚](?P<single>[^'‘’]+(?:['’]\w+)*)['’](?!\w)
    """,
    re.VERBOSE,
)
NOT_CALLED = frozenset(["nee", "born"])
"""words in brackets that tell another name, not the one to call"""
SUFFIXES = frozenset(["jr", "sr", "ii", "iii", "iv", "2nd", "3rd", "4th", "esq", "phd", "md"])
LONE_LETTERS = frozenset("iv")
"""I and V are suffixes only behind a whole name: else they are initials"""
PARTICLES = frozenset(
    [
        *("al", "bin", "binti", "da", "das", "de", "del", "della", "den", "der", "di", "do", "dos"),
        *("du", "el", "ibn", "la", "las", "le", "los", "mac", "mc", "san", "santa", "st", "ten"),
        *("ter", "van", "vander", "vom", "von", "y", "zu", "zum", "zur"),
    ]
)
"""words that begin a family name of several"""


@dataclass(frozen=True, slots=True)
class PersonName:
    """A name in its pieces; ``given`` holds middle names and initials too. ``sure`` when a comma
    or two columns said which piece is the family's."""

    given: str = ""
    family: str = ""
    nickname: str = ""
    suffix: str = ""
    sure: bool = False

    @property
    def called(self) -> str:
        """The name as it is said: 'Margaret O'Dell Jr.'."""
        return " ".join(filter(None, (self.given, self.family, self.suffix)))

    @property
    def used(self) -> str:
        """The name used, where there is a nickname: 'Peg O'Dell'."""
        return f"{self.nickname} {self.family}".strip() if self.nickname else ""

    @property
    def words(self) -> tuple[str, ...]:
        """The words of the name without its suffix, as they are compared."""
        return tuple(plain(f"{self.given} {self.family}").split())


class Likeness(IntEnum):
    """How well two names agree, the surest first."""

    SAME = 0
    """the same words in the order in which they are said"""
    TURNED = 1
    """the same words in another order, which no comma contradicts"""
    SHORTER = 2
    """one of them without middle names, with an initial for one, or without the suffix"""
    NONE = 3


def read_name(text: str) -> PersonName:
    """A name in one text: 'Last, First', 'First Last', 'First “Nick” Last, Jr.'."""
    text = clean_name(text)
    rest, nickname = _without_nickname(text)
    pieces = [piece.strip() for piece in COMMAS.split(rest) if plain(piece)]
    if not pieces:
        return PersonName(given=nickname or rest)
    first, *others = pieces
    suffixes = [piece for piece in others if _is_suffix(piece, whole=" " in first)]
    others = [piece for piece in others if piece not in suffixes]
    if not others:
        name = _as_said(first, alone=bool(suffixes))
    else:
        name = read_columns(" ".join(others), first)
    if nickname and not name.family and not text.startswith(rest):
        name = replace(name, given=nickname, family=name.given)  # “Bo” Larkspur
        nickname = ""
    suffix = name.suffix or " ".join(suffixes)
    return replace(name, nickname=nickname or name.nickname, suffix=suffix)


@lru_cache(maxsize=16_384)
def family_name(name: str) -> str:
    """The family name of a stored name, all of it where it has none."""
    return read_name(name).family or name


def read_columns(first: str, last: str) -> PersonName:
    """A name in two columns, either of which may hold a nickname or a suffix."""
    given, of_given = _without_nickname(clean_name(first))
    family, of_family = _without_nickname(clean_name(last))
    given, family = given.strip(" ,"), family.strip(" ,")
    if not (plain(given) and plain(family)):
        name = _as_said(given or family, alone=True)
        return replace(name, nickname=of_given or of_family)
    given, of_first = _without_suffix(given, whole=False)
    family, of_last = _without_suffix(family, whole=True)
    return PersonName(given, family, of_given or of_family, of_last or of_first, sure=True)


def _as_said(text: str, *, alone: bool) -> PersonName:
    """A name without a comma: the family name is the last word, with its particles.

    One word is the family name where a suffix or a column says that it stands ``alone``.
    """
    text, suffix = _without_suffix(text, whole=len(text.split()) > 2)
    words = text.split()
    if len(words) == 1:
        return PersonName("", words[0], "", suffix) if alone else PersonName(words[0], "")
    begins = len(words) - 1
    while begins > 1 and plain(words[begins - 1]) in PARTICLES:
        begins -= 1
    if begins == 1 and words[0].islower() and plain(words[0]) in PARTICLES:
        begins = 0
    return PersonName(" ".join(words[:begins]), " ".join(words[begins:]), "", suffix)


def _without_nickname(text: str) -> tuple[str, str]:
    """The text without the first nickname in it, and the nickname."""
    for match in NICKNAME.finditer(text):
        nickname = next(filter(None, match.groups())).strip(" ,")
        words = plain(nickname).split()
        letters = nickname.replace(" ", "").replace("-", "").replace("'", "").replace("’", "")
        if words and words[0] not in NOT_CALLED and letters.replace(".", "").isalpha():
            rest = f"{text[: match.start()]} {text[match.end() :]}"
            return re.sub(r"\s+(?=,)", "", " ".join(rest.split())), nickname
    return text, ""


def _without_suffix(text: str, *, whole: bool) -> tuple[str, str]:
    """The text without the suffix at its end, and the suffix."""
    words = text.replace(",", " ").split()
    if len(words) < 2 or not _is_suffix(words[-1], whole=whole):
        return text, ""
    return " ".join(words[:-1]), words[-1]


def _is_suffix(word: str, *, whole: bool) -> bool:
    """Jr., III and the like; I and V without a point behind a ``whole`` name."""
    bare = plain(word)
    return bare in SUFFIXES or (whole and bare in LONE_LETTERS and "." not in word)


def sort_key(name: str) -> str:
    """Last word first, then the rest, then the suffix, which no list goes by: 'Ana Núñez' sorts as
    'nunez ana', 'Bo Larkspur Jr.' as 'larkspur bo jr'."""
    rest, suffix = _without_suffix(name, whole=len(name.split()) > 2)
    words = plain(rest).split()
    return " ".join([*words[-1:], *words[:-1], *plain(suffix).split()])


def telling_words(text: str) -> tuple[str, ...]:
    """The words of a name to find somebody by: without nickname, initials and suffix beside it."""
    words = read_name(text).words
    return tuple(word for word in words if len(word) > 1 or not word.isalpha()) or words


def is_beside_a_name(word: str) -> bool:
    """An initial with its point, or a suffix: what people write who are not stored with it."""
    bare = plain(word)
    return bare in SUFFIXES or (
        len(bare) == 1 and bare.isalpha() and word.rstrip(",").endswith(".")
    )


def in_capitals(name: str) -> bool:
    """A name in capitals alone, as some systems write all of them."""
    return len(plain(name)) > 3 and name == name.upper() and name != name.lower()


def in_small_letters(name: str) -> str:
    """'MARGARET O'DELL III' as 'Margaret O'Dell III', 'MCNALLY' as 'McNally'."""
    return " ".join(
        word if _is_suffix(word, whole=True) and word[0] != "J" else _capitalized(word)
        for word in name.split()
    )


def _capitalized(word: str) -> str:
    small = re.sub(r"\w+", lambda m: m[0][:1] + m[0][1:].lower(), word)
    return re.sub(r"\bMc(\w)(?=\w{2})", lambda m: f"Mc{m[1].upper()}", small)


def likeness(one: PersonName, other: PersonName) -> Likeness:
    """How well two names agree, nicknames left aside."""
    if not one.words or not other.words:
        return Likeness.NONE
    suffixes = {plain(one.suffix), plain(other.suffix)} - {""}
    if len(suffixes) > 1:
        return Likeness.NONE
    same_suffix = plain(one.suffix) == plain(other.suffix)
    if one.words == other.words:
        return Likeness.SAME if same_suffix else Likeness.SHORTER
    if sorted(one.words) == sorted(other.words) and same_suffix and not (one.sure or other.sure):
        return Likeness.TURNED
    return Likeness.SHORTER if _shorter(one, other) else Likeness.NONE


def _shorter(one: PersonName, other: PersonName) -> bool:
    """One family name and first name; middle names are the same, initials, or not there."""
    if plain(one.family) != plain(other.family) or not one.family:
        return False
    given, others = plain(one.given).split(), plain(other.given).split()
    if not given or not others or given[0] != others[0]:
        return False
    few, many = sorted((given[1:], others[1:]), key=len)
    rest = iter(many)
    return all(any(_fits(middle, word) for word in rest) for middle in few)


def _fits(one: str, other: str) -> bool:
    """The same middle name, or one of the two is its initial."""
    return one == other or (1 in (len(one), len(other)) and one[0] == other[0])


def initial_fits(one: PersonName, other: PersonName) -> bool:
    """'M. O'Dell' for Margaret O'Dell: worth offering, never certain."""
    given, others = plain(one.given).split(), plain(other.given).split()
    same = bool(one.family) and plain(one.family) == plain(other.family)
    return same and bool(given and others) and _fits(given[0], others[0])
