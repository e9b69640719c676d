"""The vocabulary in the database: mirrors of the data files to search and filter, and what a site adds itself.

The files are the truth: ``services.vocabulary_load`` writes the mirrors and nobody else does. Lists are kept as JSON;
``sources`` are keys of ``Source``. What a site adds names its entry in words, without a foreign key, so that it stays
when an upgrade takes that entry away.
"""

from __future__ import annotations

from typing import get_args

from django.db import models
from django.db.models import F, Q

from anatomy.vocabulary.entries import Kind, Role, Style

KINDS = [(kind, kind) for kind in get_args(Kind)]
STYLES = [(style, style) for style in get_args(Style) if style != "standard"]
ROLES = get_args(Role)


class Mirror(models.Model):
    """One record of a data file."""

    sources = models.JSONField(default=list)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return str(self.pk)


def _name() -> models.TextField:
    return models.TextField(primary_key=True)


def _link(to: str, name: str, empty: bool = False) -> models.ForeignKey:
    # The load writes all tables in one transaction; the database holds the links when it ends.
    return models.ForeignKey(to, models.DO_NOTHING, null=empty, related_name=name)


class Source(models.Model):
    key = models.TextField(primary_key=True)
    citation = models.TextField()
    basis = models.TextField()

    def __str__(self) -> str:
        return self.citation


class Plane(Mirror):
    name = _name()
    axis = models.TextField()
    gloss = models.TextField()


class Joint(Mirror):
    name = _name()
    region = models.TextField(db_index=True)
    within = _link("self", "parts", empty=True)
    type = models.TextField()
    axes = models.TextField()
    proximal = models.TextField()
    distal = models.TextField()
    gloss = models.TextField()
    identifier = models.TextField()


class Motion(Mirror):
    """``key`` is "joint: motion"."""

    key = models.TextField(primary_key=True)
    joint = _link("Joint", "motions")
    name = models.TextField(db_index=True)
    opposite = models.TextField()
    plane = _link("Plane", "motions", empty=True)
    axis = models.TextField()
    gloss = models.TextField()
    note = models.TextField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["joint", "name"], name="one_motion_of_a_name_at_a_joint")
        ]


class Nerve(Mirror):
    name = _name()
    kind = models.TextField()
    branch_of = _link("self", "branches", empty=True)
    roots = models.JSONField(default=list)
    also_roots = models.JSONField(default=list)
    gloss = models.TextField()


class Group(Mirror):
    name = _name()
    kind = models.TextField()
    members = models.JSONField(default=list)
    gloss = models.TextField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=["whole", "functional"]), name="group_kind_is_known")
        ]


class Muscle(Mirror):
    name = _name()
    latin = models.TextField()
    whole = _link("Group", "parts", empty=True)
    region = models.TextField(db_index=True)
    gloss = models.TextField()
    origin = models.TextField()
    insertion = models.TextField()
    nerve = models.TextField()
    roots = models.JSONField(default=list)
    also_roots = models.JSONField(default=list)
    nerve_note = models.TextField()
    identifier = models.TextField()


class MuscleNerve(models.Model):
    """A muscle's nerve; a few muscles have two."""

    muscle = _link("Muscle", "supplies")
    nerve = _link("Nerve", "supplies")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["muscle", "nerve"], name="a_nerve_once_for_a_muscle")]

    def __str__(self) -> str:
        return f"{self.muscle_id}: {self.nerve_id}"


class Membership(models.Model):
    """A muscle of a group, groups within the group unfolded."""

    group = _link("Group", "memberships")
    muscle = _link("Muscle", "memberships")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["group", "muscle"], name="a_muscle_once_in_a_group")]

    def __str__(self) -> str:
        return f"{self.group_id}: {self.muscle_id}"


class Action(Mirror):
    muscle = _link("Muscle", "actions")
    motion = _link("Motion", "actions")
    role = models.TextField()
    conditional = models.BooleanField()
    disputed = models.BooleanField()
    depends_on = models.TextField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["muscle", "motion"], name="one_action_of_a_muscle_on_a_motion"),
            models.CheckConstraint(condition=Q(role__in=ROLES), name="action_role_is_known"),
        ]


class Range(Mirror):
    motion = _link("Motion", "ranges")
    low = models.FloatField()
    high = models.FloatField()
    population = models.TextField()
    note = models.TextField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(low__lte=F("high")), name="range_low_not_above_high")
        ]


class Structure(Mirror):
    name = _name()
    kind = models.TextField(db_index=True)
    side = models.TextField()
    quadrants = models.JSONField(default=list)
    vertebrae = models.JSONField(default=list)
    ribs = models.JSONField(default=list)
    gloss = models.TextField()
    note = models.TextField()
    identifier = models.TextField()


class Contraction(Mirror):
    name = _name()
    length = models.TextField()
    gloss = models.TextField()


class Phase(Mirror):
    movement = models.TextField()
    name = models.TextField()
    place = models.PositiveIntegerField()
    gloss = models.TextField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["movement", "name"], name="one_phase_of_a_name")]


class Segment(Mirror):
    name = _name()
    gloss = models.TextField()


class Chain(Mirror):
    movement = models.TextField(primary_key=True)
    order = models.JSONField(default=list)
    note = models.TextField()


class Concept(Mirror):
    name = _name()
    gloss = models.TextField()


class Term(Mirror):
    """``folded`` is the text as it is compared: search in it."""

    text = models.TextField()
    folded = models.TextField(db_index=True)
    kind = models.TextField()
    of = models.TextField()
    style = models.TextField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "of", "folded"], name="one_term_of_a_text")]


class VocabularyState(models.Model):
    """The one row that says what is loaded, and changes whenever the vocabulary of this site does."""

    class Origin(models.TextChoices):
        PACKAGED = "packaged", "the files that come with the project"
        FOLDER = "folder", "files of this site"

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    loaded_stamp = models.CharField(max_length=64, blank=True, default="")
    origin = models.CharField(max_length=10, choices=Origin.choices, default=Origin.PACKAGED)
    loaded_at = models.DateTimeField(null=True)
    own_stamp = models.CharField(max_length=32, blank=True, default="")

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(id=1), name="one_vocabulary_state")]

    def __str__(self) -> str:
        return f"{self.origin} {self.loaded_stamp[:12]}"


class Own(models.Model):
    """What every addition of a site carries. ``added_by`` is plain text: people may leave, their words stay."""

    gloss = models.TextField(blank=True)
    note = models.TextField(blank=True)
    added_by = models.TextField(blank=True)
    added_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        abstract = True


class OwnEntry(Own):
    """An entry that ours lacks. A motion needs its joint and may have a plane; a structure needs its side."""

    class Kind(models.TextChoices):
        MUSCLE = "muscle"
        JOINT = "joint"
        MOTION = "motion"
        STRUCTURE = "structure"
        NERVE = "nerve"
        SEGMENT = "segment"
        CONCEPT = "concept"

    kind = models.CharField(max_length=20, choices=Kind.choices)
    name = models.CharField(max_length=120)
    folded = models.TextField(editable=False)
    joint = models.TextField(blank=True)
    plane = models.TextField(blank=True)
    side = models.CharField(max_length=20, blank=True)

    class Meta:
        ordering = ["kind", "name", "joint"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "folded", "joint"], name="one_own_entry_of_a_name"),
            models.CheckConstraint(condition=~Q(kind="motion") | ~Q(joint=""), name="own_motion_has_a_joint"),
        ]

    def __str__(self) -> str:
        return self.key

    @property
    def key(self) -> str:
        """The name by which the vocabulary has it."""
        return f"{self.joint}: {self.name}" if self.kind == self.Kind.MOTION else self.name


class OwnTerm(Own):
    """Another way of saying one of our entries or one of the site's own."""

    text = models.CharField(max_length=120)
    folded = models.TextField(editable=False)
    kind = models.CharField(max_length=20, choices=KINDS)
    of = models.TextField()
    style = models.CharField(max_length=20, choices=STYLES, default="own")

    class Meta:
        ordering = ["folded", "kind", "of"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "of", "folded"], name="one_own_term_of_a_text")
        ]

    def __str__(self) -> str:
        return f"{self.text} = {self.of}"
