"""Whether all candidates can be compared, and which looks would make them so.

Figures of candidates are comparable when their difference can be estimated from the looks: the
design of candidate + evaluator + session must leave it no freedom. Connectedness of two-way
designs: Weeks and Williams 1964, Technometrics 6:319 (from memory); with sessions a connected
graph is not enough, so the freedom is computed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from roster.tryouts.core.looks import Bools, Floats, Ints, Looks

TINY = 1e-8


@dataclass(frozen=True, slots=True)
class Link:
    """A look that would help: indices of who is seen, by whom, in which session."""

    candidate: int
    evaluator: int
    session: int


@dataclass(frozen=True, slots=True)
class Linking:
    """``parts``: candidates (indices) among whom figures compare, the largest part first.
    ``links``: the fewest further looks that would leave one part."""

    parts: tuple[tuple[int, ...], ...]
    links: tuple[Link, ...]

    @property
    def is_whole(self) -> bool:
        return len(self.parts) <= 1


def linking(looks: Looks, forbidden: Iterable[tuple[int, int]] = ()) -> Linking:
    """The parts of a design and the looks that would link them; ``forbidden`` pairs of candidate
    and evaluator are not proposed. Candidates without looks are in no part."""
    freedom = _freedom(looks)
    seen = np.unique(looks.candidate)
    parts = _parts(freedom.of_candidates(looks), seen)
    if len(parts) <= 1:
        return Linking(parts, ())
    allowed = np.ones((looks.candidates, looks.evaluators), dtype=bool)
    for candidate, evaluator in forbidden:
        allowed[candidate, evaluator] = False
    return Linking(parts, tuple(_links(looks, freedom, seen, allowed)))


@dataclass(frozen=True, slots=True, eq=False)
class _Freedom:
    """What the looks leave open: offsets of evaluators (E, d) and sessions (S, d) that can be
    shifted together without any look noticing, a column each."""

    evaluators: Floats
    sessions: Floats

    def of_candidates(self, looks: Looks) -> Floats:
        """How far each candidate's figure would shift along, (candidates, d)."""
        shift = np.zeros((looks.candidates, self.evaluators.shape[1]))
        shift[looks.candidate] = -(self.evaluators[looks.evaluator] + self.sessions[looks.session])
        return shift

    def turned(self, basis: Floats) -> _Freedom:
        return _Freedom(self.evaluators @ basis, self.sessions @ basis)


def reduced(looks: Looks) -> tuple[Floats, Floats]:
    """The normal equations of evaluators and sessions once candidates are taken out (E + S each
    way), and the shares of each candidate's looks they have, (candidates, E + S)."""
    width = looks.evaluators + looks.sessions
    session = looks.evaluators + looks.session
    count = np.bincount(looks.candidate, minlength=looks.candidates)
    given = np.zeros(looks.candidates * width)
    pairs = np.bincount(looks.evaluator * width + session, minlength=width**2)
    together = pairs.reshape(width, width)
    for column in (looks.evaluator, session):
        given += np.bincount(looks.candidate * width + column, minlength=given.size)
    shares = given.reshape(looks.candidates, width) / np.maximum(count, 1)[:, None]
    own = np.bincount(looks.evaluator, minlength=width) + np.bincount(session, minlength=width)
    whole = np.diag(own) + together + together.T
    normal: Floats = whole - shares.T @ (shares * count[:, None])
    return normal, shares


def _freedom(looks: Looks) -> _Freedom:
    """Without the shifts that move all evaluators alike, or all sessions: they move everybody."""
    normal, _ = reduced(looks)
    values, vectors = np.linalg.eigh(normal)
    null = vectors[:, values < TINY * max(1.0, float(values[-1]))]
    everybody = np.zeros((normal.shape[0], 2))
    everybody[: looks.evaluators, 0] = 1 / np.sqrt(looks.evaluators)
    everybody[looks.evaluators :, 1] = 1 / np.sqrt(looks.sessions)
    inside = null.T @ everybody
    basis = null @ _orthogonal_to(inside)
    return _Freedom(basis[: looks.evaluators], basis[looks.evaluators :])


def confounded(looks: Looks) -> Bools:
    """Which offsets, of evaluators and then of sessions (E + S,), the looks do not tell: those of
    whoever has no look, and those that cannot be told from one another."""
    used = [np.unique(looks.evaluator), np.unique(looks.session)]
    dense = replace(
        looks,
        evaluator=np.searchsorted(used[0], looks.evaluator),
        session=np.searchsorted(used[1], looks.session),
        evaluators=used[0].size,
        sessions=used[1].size,
    )
    freedom = _freedom(dense)
    found = np.ones(looks.evaluators + looks.sessions, dtype=bool)
    found[used[0]] = np.linalg.norm(freedom.evaluators, axis=1) > TINY
    found[looks.evaluators + used[1]] = np.linalg.norm(freedom.sessions, axis=1) > TINY
    return found


def _orthogonal_to(vectors: Floats) -> Floats:
    """A basis (d, k) of what is orthogonal to the columns of ``vectors`` (d, m)."""
    u, sizes, _ = np.linalg.svd(vectors, full_matrices=True)
    rank = int(np.sum(sizes > TINY))
    basis: Floats = u[:, rank:]
    return basis


def _parts(shift: Floats, seen: Ints) -> tuple[tuple[int, ...], ...]:
    keys: dict[tuple[float, ...], list[int]] = {}
    for candidate in seen:
        key = tuple((np.round(shift[candidate], 6) + 0.0).tolist())
        keys.setdefault(key, []).append(int(candidate))
    return tuple(sorted((tuple(part) for part in keys.values()), key=lambda p: (-len(p), p)))


def _links(looks: Looks, freedom: _Freedom, seen: Ints, allowed: Bools) -> Iterable[Link]:
    """One look at a time, each taking away one freedom that keeps candidates apart. No set can be
    smaller: a look takes away one at most."""
    load = np.bincount(looks.evaluator, minlength=looks.evaluators)
    given = np.bincount(looks.candidate, minlength=looks.candidates)
    used = np.bincount(looks.session, minlength=looks.sessions) > 0
    while freedom.evaluators.shape[1]:
        shift = freedom.of_candidates(looks)
        apart = shift[seen] - shift[seen].mean(0)
        _, sizes, turned = np.linalg.svd(apart, full_matrices=True)
        rank = int(np.sum(sizes > TINY))
        if rank == 0:
            return
        freedom = freedom.turned(turned.T)
        shift = freedom.of_candidates(looks)
        link, row = _best_link(freedom, shift, seen, allowed, rank, (given, load, used))
        if link is None:
            return
        yield link
        load[link.evaluator] += 1
        given[link.candidate] += 1
        freedom = freedom.turned(_orthogonal_to(row[:, None]))


def _best_link(
    freedom: _Freedom,
    shift: Floats,
    seen: Ints,
    allowed: Bools,
    rank: int,
    burden: tuple[Ints, Ints, Bools],
) -> tuple[Link | None, Floats]:
    """Of the looks that take a freedom away, one of the candidate with the fewest looks by the
    evaluator with the fewest; the first ``rank`` freedoms keep candidates apart, the rest do
    not, and a look that touches the rest would be spent on them."""
    given, load, used = burden
    rows = (
        shift[seen][:, None, None, :]
        + freedom.evaluators[None, :, None, :]
        + freedom.sessions[None, None, :, :]
    )
    links = np.linalg.norm(rows[..., :rank], axis=-1) > TINY
    links &= allowed[seen][:, :, None] & used[None, None, :]
    direct = links & (np.linalg.norm(rows[..., rank:], axis=-1) <= TINY)
    found = direct if direct.any() else links
    if not found.any():
        return None, np.zeros(0)
    c, e, s = np.nonzero(found)
    best = np.lexsort((s, e, seen[c], load[e], given[seen[c]]))[0]
    link = Link(int(seen[c[best]]), int(e[best]), int(s[best]))
    return link, rows[c[best], e[best], s[best]]
