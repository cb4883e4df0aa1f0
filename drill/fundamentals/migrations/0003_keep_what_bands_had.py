from django.db import migrations

# What every band had without asking until now, as it was.
EVERYBODYS = [
    {
        "code": "spin-turn",
        "name": "spin turn",
        "also": ["spin", "spin left"],
        "counts": 4,
        "any_counts": True,
        "turn": 270,
        "path": [[0, 0]],
        "difficulty": 4,
        "note": "270 degrees to the left, in place; ends where a right quarter would. Its counts are "
        "the band's choice.",
    },
    {
        "code": "box-to-the-rear",
        "name": "box to-the-rear",
        "also": ["box", "box rear", "box to rear", "left box"],
        "counts": 4,
        "path": [[0, 1], [-1, 1], [-1, 0], [0, 0]],
        "measured": "start",
        "direction": "first",
        "turn": 180,
        "difficulty": 4,
        "note": "Four corners of a one-step square. Which side, when the turn comes, and whether the "
        "spot is a corner or the centre differ: set other side, angles after each count, "
        "steps and position.",
    },
    {
        "code": "forward-back-to-the-rear",
        "name": "forward-back to-the-rear",
        "also": [
            "forward back",
            "fwd back",
            "fwd back to the rear",
            "forward and back to the rear",
        ],
        "counts": 4,
        "path": [[0, 1], [0, 1], [0, -2], None],
        "turn": 180,
        "turn_from": 4,
        "turn_to": 4,
        "difficulty": 4,
        "note": "1, 1 and -2 steps, turn on four. Steps of the body, of each foot from where it was, "
        "or from the other foot: set what steps are measured from.",
    },
    {
        "code": "slide-to-the-rear",
        "name": "slide to-the-rear",
        "also": ["slide rear", "rear slide"],
        "any_counts": True,
        "counts": 4,
        "path": [[0, 1]],
        "turn": 180,
        "turn_to": 1,
        "horns": 180,
        "difficulty": 4,
        "note": "Hips and feet go to the rear, horns stay where they looked. Bands mean different "
        "things by it.",
    },
    {
        "code": "step-turn-left",
        "name": "step turn left",
        "also": ["left step turn"],
        "counts": 2,
        "path": [[0, 0]],
        "turn": 90,
        "difficulty": 2,
        "note": "A quarter made by two steps in place, half of it on each. Counts and angles are the "
        "band's choice.",
    },
    {
        "code": "step-turn-right",
        "name": "step turn right",
        "also": ["right step turn"],
        "counts": 2,
        "path": [[0, 0]],
        "turn": -90,
        "difficulty": 2,
        "note": "A quarter made by two steps in place, half of it on each. Counts and angles are the "
        "band's choice.",
    },
    {
        "code": "slow-turn-left",
        "name": "slow turn left",
        "also": ["left slow turn", "slow left turn"],
        "counts": 4,
        "any_counts": True,
        "path": [[0, 1]],
        "turn": 90,
        "turn_from": 2,
        "difficulty": 3,
        "note": "90 degrees from count 2 to the last: over 2-4 in 4 counts, over 2-8 in 8. Both ends "
        "counted (inclusive) or the gaps between (intervals); steps go by the heading at the "
        "start, in the middle or at the end of their count.",
    },
    {
        "code": "slow-turn-right",
        "name": "slow turn right",
        "also": ["right slow turn", "slow right turn"],
        "counts": 4,
        "any_counts": True,
        "path": [[0, 1]],
        "turn": -90,
        "turn_from": 2,
        "difficulty": 3,
        "note": "90 degrees from count 2 to the last: over 2-4 in 4 counts, over 2-8 in 8. Both ends "
        "counted (inclusive) or the gaps between (intervals); steps go by the heading at the "
        "start, in the middle or at the end of their count.",
    },
    {
        "code": "slow-about-left",
        "name": "slow about left",
        "also": ["left slow about", "slow turn left about"],
        "counts": 4,
        "any_counts": True,
        "path": [[0, 1]],
        "turn": 180,
        "turn_from": 2,
        "difficulty": 4,
        "note": "180 degrees from count 2 to the last: over 2-4 in 4 counts, over 2-8 in 8. Both "
        "ends counted (inclusive) or the gaps between (intervals); steps go by the heading "
        "at the start, in the middle or at the end of their count.",
    },
    {
        "code": "slow-about-right",
        "name": "slow about right",
        "also": ["right slow about", "slow turn right about"],
        "counts": 4,
        "any_counts": True,
        "path": [[0, 1]],
        "turn": -180,
        "turn_from": 2,
        "difficulty": 4,
        "note": "180 degrees from count 2 to the last: over 2-4 in 4 counts, over 2-8 in 8. Both "
        "ends counted (inclusive) or the gaps between (intervals); steps go by the heading "
        "at the start, in the middle or at the end of their count.",
    },
    {
        "code": "horn-slide-left",
        "name": "horn slide left",
        "also": ["left horn slide"],
        "any_counts": True,
        "path": [[0, 1]],
        "turn": 90,
        "turn_to": 1,
        "horns": -90,
        "difficulty": 3,
        "note": "Hips and feet turn to the left and march there, horns stay where they looked; what "
        "follows goes on in the new facing.",
    },
    {
        "code": "horn-slide-right",
        "name": "horn slide right",
        "also": ["right horn slide"],
        "any_counts": True,
        "path": [[0, 1]],
        "turn": -90,
        "turn_to": 1,
        "horns": 90,
        "difficulty": 3,
        "note": "Hips and feet turn to the right and march there, horns stay where they looked; what "
        "follows goes on in the new facing.",
    },
    {
        "code": "gate-left",
        "name": "gate left",
        "also": ["left gate", "gate to the left"],
        "any_counts": True,
        "path": [[0, 1]],
        "turn": 90,
        "direction": "middle",
        "drawn": True,
        "difficulty": 4,
        "note": "A line swings a quarter about its left end like a gate. How far each goes depends "
        "on how far from the hinge they stand, so the picture says where it ends; the "
        "footprints are one example.",
    },
    {
        "code": "gate-right",
        "name": "gate right",
        "also": ["right gate", "gate to the right"],
        "any_counts": True,
        "path": [[0, 1]],
        "turn": -90,
        "direction": "middle",
        "drawn": True,
        "difficulty": 4,
        "note": "A line swings a quarter about its right end like a gate. How far each goes depends "
        "on how far from the hinge they stand, so the picture says where it ends; the "
        "footprints are one example.",
    },
    {
        "code": "follow-the-leader",
        "name": "follow the leader",
        "also": ["follow leader", "ftl", "follow"],
        "any_counts": True,
        "path": [[0, 1]],
        "drawn": True,
        "difficulty": 2,
        "note": "Everybody steps where the one before them stepped. The picture says where that "
        "ends; the footprints are one example.",
    },
]


def keep_what_bands_had(apps, schema_editor):
    """They become the band's own, so that words, sequences and records still mean the same."""
    rows = apps.get_model("fundamentals", "Fundamental").objects
    for season in apps.get_model("people", "Season").objects.all():
        own = rows.filter(season=season)
        codes = set(own.values_list("code", flat=True))
        names = set(own.values_list("name", flat=True))
        rows.bulk_create(
            rows.model(season=season, code=it["code"], name=it["name"], definition=it)
            for it in EVERYBODYS
            if it["code"] not in codes and it["name"] not in names
        )


class Migration(migrations.Migration):
    dependencies = [
        ("fundamentals", "0002_abbreviations"),
        ("people", "0006_sort_without_suffix"),
    ]

    operations = [
        migrations.RunPython(keep_what_bands_had, migrations.RunPython.noop),
    ]
