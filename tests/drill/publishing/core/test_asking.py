"""Whom somebody who stands in can ask."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from drill.publishing.core.asking import Asked, Knows, RankThere, whom_to_ask

ME, LEADER, ASSISTANT, LEFT, RIGHT, BACKUP = 1, 2, 3, 4, 5, 6
RANK = RankThere(
    (10, 11, 12, 13), {10: LEFT, 11: ME, 12: RIGHT}, {LEFT, RIGHT}, (LEADER, ASSISTANT)
)


def ask(
    rank: RankThere = RANK,
    backups: Sequence[int] = (BACKUP,),
    away: Sequence[int] = (),
    spot: int = 11,
) -> tuple[Asked, ...]:
    return whom_to_ask(rank, spot=spot, me=ME, backups=backups, away=away)


def stands(at: Mapping[int, int], home: Sequence[int]) -> RankThere:
    return RankThere(RANK.spots, at, frozenset(home), RANK.leaders)


def test_the_leader_a_neighbor_and_the_backup() -> None:
    assert ask() == (
        Asked(LEADER, Knows.LEADS),
        Asked(LEFT, Knows.BESIDE, 10),
        Asked(BACKUP, Knows.BACKUP),
    )


def test_the_next_who_leads_where_the_first_is_away() -> None:
    assert ask(away=(LEADER,))[0] == Asked(ASSISTANT, Knows.LEADS)
    assert Knows.LEADS not in [a.knows for a in ask(away=(LEADER, ASSISTANT))]


def test_a_neighbor_at_home_before_one_who_stands_in() -> None:
    assert ask(stands({10: LEFT, 12: RIGHT}, [RIGHT]))[1] == Asked(RIGHT, Knows.BESIDE, 12)
    assert ask(stands({10: LEFT, 12: RIGHT}, []))[1] == Asked(LEFT, Knows.BESIDE, 10)


def test_who_stands_further_off_is_no_neighbor() -> None:
    assert [a.knows for a in ask(stands({13: RIGHT}, [RIGHT]))] == [Knows.LEADS, Knows.BACKUP]
    assert ask(stands({12: RIGHT}, [RIGHT]), spot=13)[1] == Asked(RIGHT, Knows.BESIDE, 12)


def test_nobody_is_named_twice_nor_oneself_nor_who_is_away() -> None:
    led = stands({10: LEADER, 12: RIGHT}, [LEADER, RIGHT])
    assert [a.member for a in ask(led, backups=(ME, RIGHT, BACKUP))] == [LEADER, RIGHT, BACKUP]
    assert [a.member for a in ask(away=(LEFT, BACKUP))] == [LEADER, RIGHT]
    assert ask(RankThere(RANK.spots, {}, (), ()), backups=()) == ()
