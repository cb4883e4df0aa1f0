"""A largest matching in each of thousands of scenarios at once: bit n of a number is scenario n.

Nodes are members and spots. A node is live in the scenarios in which it takes part, open in those
in which it is also unmatched. Both sides are treated alike, so "freeing" a node (finding it open
in another largest matching) is one routine for both.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable


class Matchings:
    """Adding or taking away an arc keeps the matching of every scenario as large as can be."""

    def __init__(self, live: Iterable[int]) -> None:
        self.live = list(live)
        self.open = list(self.live)
        self.used: list[dict[int, int]] = [{} for _ in self.live]
        """node -> neighbour -> scenarios in which they are matched"""

    def add(self, a: int, b: int) -> int:
        """Put an arc in; the scenarios in which one more pair is matched."""
        if b in self.used[a]:
            return 0
        self.used[a][b] = self.used[b][a] = 0
        gained = self._freed(a, self.live[a] & self.live[b])
        gained = self._freed(b, gained)
        self._match(a, b, gained)
        return gained

    def remove(self, a: int, b: int) -> int:
        """Take an arc out; the scenarios in which one pair fewer is matched."""
        lost = self.used[a].pop(b)
        del self.used[b][a]
        self.open[a] |= lost
        self.open[b] |= lost
        for node in (a, b):
            for other in self.used[node]:
                if not lost:
                    return 0
                found = self._freed(other, lost & self.live[other])
                self._match(node, other, found)
                lost &= ~found
        return lost

    def component(self, *nodes: int) -> list[int]:
        """The nodes that arcs connect with the given ones."""
        found = set(nodes)
        queue = list(nodes)
        while queue:
            for other in self.used[queue.pop()]:
                if other not in found:
                    found.add(other)
                    queue.append(other)
        return sorted(found)

    def exposable(self, nodes: Iterable[int]) -> dict[int, int]:
        """Node -> scenarios in which some largest matching leaves it open. ``nodes`` is a union
        of components, on one side or both."""
        found = {node: self.open[node] for node in nodes}
        fresh = {node: bits for node, bits in found.items() if bits}
        queue = deque(fresh)
        while queue:
            node = queue.popleft()
            bits = fresh.pop(node)
            for middle, here in self.used[node].items():
                free = bits & self.live[middle] & ~here
                if not free:
                    continue
                for other, matched in self.used[middle].items():
                    more = free & matched & ~found[other]
                    if more:
                        found[other] |= more
                        if other not in fresh:
                            queue.append(other)
                            fresh[other] = 0
                        fresh[other] |= more
        return found

    def _match(self, a: int, b: int, bits: int) -> None:
        self.used[a][b] |= bits
        self.used[b][a] |= bits
        self.open[a] &= ~bits
        self.open[b] &= ~bits

    def _freed(self, start: int, wanted: int) -> int:
        """Make a node open in as many of the wanted scenarios as can be; those in which it is."""
        done = wanted & self.open[start]
        left = wanted & ~done
        seen = {start: left}
        came: dict[int, list[tuple[int, int, int]]] = {}
        queue = deque([(start, left)])
        while queue and left:
            node, bits = queue.popleft()
            for middle, matched in list(self.used[node].items()):
                through = bits & left & matched
                if not through:
                    continue
                for other, here in list(self.used[middle].items()):
                    fresh = through & left & self.live[other] & ~here & ~seen.get(other, 0)
                    if not fresh:
                        continue
                    seen[other] = seen.get(other, 0) | fresh
                    came.setdefault(other, []).append((node, middle, fresh))
                    hit = fresh & self.open[other]
                    if hit:
                        self._shift(other, hit, start, came)
                        done |= hit
                        left &= ~hit
                        fresh &= ~hit
                    if fresh:
                        queue.append((other, fresh))
        return done

    def _shift(
        self, end: int, bits: int, start: int, came: dict[int, list[tuple[int, int, int]]]
    ) -> None:
        """Along each scenario's path every node takes the partner of the one before it."""
        self.open[end] &= ~bits
        self.open[start] |= bits
        todo = [(end, bits)]
        while todo:
            node, here = todo.pop()
            if node == start:
                continue
            for before, middle, fresh in came[node]:
                moved = here & fresh
                if moved:
                    self.used[before][middle] &= ~moved
                    self.used[middle][before] &= ~moved
                    self.used[node][middle] |= moved
                    self.used[middle][node] |= moved
                    todo.append((before, moved))
