"""Words of a band's own files, and what they mean."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from bandops.lib.imports.words import LONGEST_WORD
from roster.people.models.seasons import Season


class KeptWord(models.Model):
    """What a word of a kind ("part", "status") stands for in a season's files.

    ``key`` is the plain text it is found by; ``value`` is what its kind's lookup takes, such as
    a part's code; ``label`` is how that was called when the word was kept.
    """

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="kept_words")
    kind = models.CharField(max_length=40)
    text = models.CharField(max_length=LONGEST_WORD)
    key = models.CharField(max_length=LONGEST_WORD * 4)
    value = models.CharField(max_length=LONGEST_WORD)
    label = models.CharField(max_length=200)

    audit_called = "word of your files"
    audit_said = {
        "keep words": (
            "said that “{text}” means {label}",
            "said what “{text}” means",
        ),
        "forget word": "forgot what “{text}” means",
    }

    class Meta:
        ordering = ["kind", "text"]
        constraints = [
            models.UniqueConstraint(fields=["season", "kind", "key"], name="word_once_a_kind"),
            models.CheckConstraint(condition=~Q(key=""), name="word_has_key"),
        ]

    def __str__(self) -> str:
        return f"“{self.text}” means {self.label or self.value}"
