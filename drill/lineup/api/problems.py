"""Lineup problems and answers as JSON, with limits on their size."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

from drill.lineup.core import problem as core
from drill.lineup.core.lessons import Lessons
from drill.lineup.core.solver import Lineup

MOST_SPOTS, MOST_MEMBERS, MOST_ROWS = 600, 800, 60_000
MOST_SEGMENTS, MOST_SKILLS = 6, 40


class ProblemParser(JSONParser):
    """JSON of a bounded depth; Django bounds its size. ParseError otherwise."""

    def parse(self, stream: Any, media_type: Any = None, parser_context: Any = None) -> Any:
        try:
            return super().parse(stream, media_type, parser_context)
        except RecursionError as error:
            raise ParseError("The problem is nested too deeply.") from error


def _key(**options: Any) -> serializers.CharField:
    return serializers.CharField(max_length=60, **options)


def _rows(
    child: serializers.Serializer[Any], most: int, **options: Any
) -> serializers.ListSerializer[Any]:
    return serializers.ListSerializer(child=child, max_length=most, **options)


class SkillSerializer(serializers.Serializer[Any]):
    part = _key()
    own_instrument = serializers.BooleanField(default=False)


class LackSerializer(serializers.Serializer[Any]):
    kind = _key()
    fits = serializers.ListField(child=_key(), max_length=200)


class WearSerializer(serializers.Serializer[Any]):
    segment = _key()
    part = _key()
    kind = _key()


class SpareSerializer(serializers.Serializer[Any]):
    kind = _key()
    size = _key()
    count = serializers.IntegerField(min_value=0, max_value=10_000)


class MemberSerializer(serializers.Serializer[Any]):
    key = _key()
    skills = _rows(SkillSerializer(), MOST_SKILLS)
    holds = _key(allow_null=True, default=None)
    rank = _key(allow_null=True, default=None)
    standing = serializers.IntegerField(min_value=1, max_value=99, allow_null=True, default=None)
    standing_part = _key(allow_null=True, default=None)
    experienced = serializers.BooleanField(default=False)
    away = serializers.ListField(child=_key(), max_length=MOST_SEGMENTS, default=list)
    must_travel = serializers.BooleanField(default=False)
    marched_percent = serializers.IntegerField(min_value=0, max_value=100, default=0)
    lacks = _rows(LackSerializer(), 40, default=list)


class SpotSerializer(serializers.Serializer[Any]):
    key = _key()
    rank = _key()
    part = _key()
    weight = serializers.IntegerField(min_value=1, max_value=5, default=1)
    needs_experience = serializers.BooleanField(default=False)


class SegmentSerializer(serializers.Serializer[Any]):
    key = _key()
    spots = serializers.ListField(child=_key(), max_length=MOST_SPOTS)


class PartSerializer(serializers.Serializer[Any]):
    key = _key()
    instrument = _key()


class RankSerializer(serializers.Serializer[Any]):
    key = _key()
    leaders = serializers.ListField(child=_key(), max_length=4, default=list)


class TakenSeatSerializer(serializers.Serializer[Any]):
    segment = _key()
    spot = _key()
    member = _key()


class BlockSerializer(serializers.Serializer[Any]):
    member = _key()
    segment = _key(allow_null=True, default=None)
    spot = _key(allow_null=True, default=None)


class SeatKeySerializer(serializers.Serializer[Any]):
    segment = _key()
    spot = _key()


class BackupSerializer(serializers.Serializer[Any]):
    spot = _key()
    member = _key()
    order = serializers.IntegerField(min_value=1, max_value=99)


class RelearningSerializer(serializers.Serializer[Any]):
    member = _key()
    spot = _key()
    cost = serializers.IntegerField(min_value=0, max_value=core.MAX_RELEARNING)


class StockSerializer(serializers.Serializer[Any]):
    instrument = _key()
    count = serializers.IntegerField(min_value=0, max_value=10_000)


class ProblemSerializer(serializers.Serializer[Any]):
    """A lineup problem; keys are the caller's own."""

    members = _rows(MemberSerializer(), MOST_MEMBERS)
    spots = _rows(SpotSerializer(), MOST_SPOTS)
    segments = _rows(SegmentSerializer(), MOST_SEGMENTS)
    parts = _rows(PartSerializer(), 200)
    ranks = _rows(RankSerializer(), 100, default=list)
    reference = _rows(TakenSeatSerializer(), MOST_ROWS, default=list)
    pins = _rows(TakenSeatSerializer(), MOST_SPOTS, default=list)
    blocks = _rows(BlockSerializer(), MOST_ROWS, default=list)
    left_open = _rows(SeatKeySerializer(), MOST_SPOTS, default=list)
    backups = _rows(BackupSerializer(), MOST_ROWS, default=list)
    relearning = _rows(RelearningSerializer(), MOST_ROWS, default=list)
    stock = _rows(StockSerializer(), 100, default=list)
    wears = _rows(WearSerializer(), 5_000, default=list)
    spares = _rows(SpareSerializer(), 5_000, default=list)
    travel_limit = serializers.IntegerField(
        min_value=0, max_value=10_000, allow_null=True, default=None
    )
    use_weights = serializers.BooleanField(default=False)
    fairness_before_standing = serializers.BooleanField(default=False)
    pool = serializers.ChoiceField(
        choices=[pool.value for pool in core.Pool], default=core.Pool.RANK.value
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        spots, parts = {s["key"] for s in attrs["spots"]}, {p["key"] for p in attrs["parts"]}
        for name in ("members", "spots", "segments", "parts", "ranks"):
            keys = [row["key"] for row in attrs[name]]
            if len(keys) != len(set(keys)):
                raise serializers.ValidationError({name: "Keys must be unique."})
        named = [s for g in attrs["segments"] for s in g["spots"]]
        if set(named) - spots or len(named) > MOST_SPOTS * 3:
            raise serializers.ValidationError({"segments": "Unknown spots, or too many seats."})
        if any(len(g["spots"]) != len(set(g["spots"])) for g in attrs["segments"]):
            raise serializers.ValidationError({"segments": "A spot comes twice in a segment."})
        if any(s["part"] not in parts for s in attrs["spots"]):
            raise serializers.ValidationError({"spots": "Every spot's part must be listed."})
        return attrs


class PlacementSerializer(serializers.Serializer[Any]):
    segment = _key()
    spot = _key()
    member = _key(allow_null=True)
    origin = _key()


class LevelSerializer(serializers.Serializer[Any]):
    level = _key()
    value = serializers.IntegerField()
    bound = serializers.IntegerField(allow_null=True)
    proven = serializers.BooleanField()


class LineupSerializer(serializers.Serializer[Any]):
    """The answer: who marches what, and how well each level is proven."""

    stage = _key()
    proven = serializers.BooleanField()
    levels = LevelSerializer(many=True)
    placements = PlacementSerializer(many=True)


def problem_of(data: dict[str, Any]) -> core.LineupProblem:
    """The core's problem from validated data."""
    return core.LineupProblem(
        members=tuple(_member(row) for row in data["members"]),
        spots=tuple(core.Spot(**row) for row in data["spots"]),
        segments=tuple(core.Segment(g["key"], tuple(g["spots"])) for g in data["segments"]),
        parts=tuple(core.Part(**row) for row in data["parts"]),
        ranks=tuple(core.Rank(r["key"], tuple(r["leaders"])) for r in data["ranks"]),
        reference=tuple(((r["segment"], r["spot"]), r["member"]) for r in data["reference"]),
        pins=tuple(core.Pin(**row) for row in data["pins"]),
        blocks=tuple(core.Block(**row) for row in data["blocks"]),
        left_open=frozenset((r["segment"], r["spot"]) for r in data["left_open"]),
        backups=tuple(core.Backup(**row) for row in data["backups"]),
        relearning=Lessons.of((r["member"], r["spot"], r["cost"]) for r in data["relearning"]),
        stock=tuple((r["instrument"], r["count"]) for r in data["stock"]),
        wears=tuple(core.Wear(**row) for row in data["wears"]),
        spares=tuple(core.Spare(**row) for row in data["spares"]),
        travel_limit=data["travel_limit"],
        settings=core.Settings(
            data["use_weights"],
            data["fairness_before_standing"],
            pool=core.Pool(data["pool"]),
        ),
    )


def _member(row: dict[str, Any]) -> core.Member:
    values = {k: v for k, v in row.items() if k not in ("skills", "away", "lacks")}
    skills = tuple(core.Skill(**skill) for skill in row["skills"])
    lacks = tuple(core.Lack(lack["kind"], tuple(lack["fits"])) for lack in row["lacks"])
    return core.Member(skills=skills, lacks=lacks, away=frozenset(row["away"]), **values)


def answer_of(lineup: Lineup) -> dict[str, Any]:
    """The answer as plain data."""
    return {
        "stage": lineup.stage.value,
        "proven": lineup.proven,
        "levels": [
            {"level": r.level.name, "value": r.value, "bound": r.bound, "proven": r.proven}
            for r in lineup.levels
        ],
        "placements": [
            {"segment": p.segment, "spot": p.spot, "member": p.member, "origin": p.origin.value}
            for p in lineup.placements
        ],
    }
