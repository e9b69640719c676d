"""Members' questions, what screening and sorting said of them, answers, and the record of the desk."""

from __future__ import annotations

import uuid
from datetime import timedelta
from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone

from breakdowns.publishing.models import Release

UNDO_TIME = timedelta(minutes=10)
_person = settings.AUTH_USER_MODEL


class Settings(models.Model):
    """What the owner has chosen for the desk: one row. ``weights`` holds only what differs from the data."""

    class Keep(models.TextChoices):
        NOTHING = "nothing", "nothing once the reply is copied"
        FIGURES = "figures", "only what it was about, without words or name"
        TEXT = "text", "the words, for the days below"

    monthly_limit = models.PositiveSmallIntegerField("questions per member and month", default=4)
    minutes_preset = models.PositiveSmallIntegerField("minutes offered at the desk", default=20)
    asking_words = models.TextField("own words above the form", blank=True)
    reply_words = models.TextField("own words of a reply to messages from elsewhere", blank=True)
    keep_elsewhere = models.CharField(max_length=10, choices=Keep.choices, default=Keep.NOTHING)
    keep_days = models.PositiveSmallIntegerField(default=30)
    video_allowed = models.BooleanField("members may attach a video", default=False)
    weights = models.JSONField(default=dict, blank=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(id=1), name="questions_settings_one_row"),
            models.CheckConstraint(condition=Q(minutes_preset__gt=0), name="questions_minutes_positive"),
        ]

    def __str__(self) -> str:
        return "the desk's settings"

    @classmethod
    def now(cls) -> Settings:
        """The row, or the defaults while nothing was chosen yet (not stored by reading)."""
        return cls.objects.filter(pk=1).first() or cls(pk=1)


class Group(models.Model):
    """Questions that ask the same in other words. ``waiting`` counts those not answered yet."""

    waiting = models.PositiveIntegerField(default=0)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        indexes = [models.Index(F("waiting").desc(), name="group_waiting")]

    def __str__(self) -> str:
        return f"group {self.pk}"


class Answer(models.Model):
    """What was answered, to one question or a whole group.

    It reaches those who asked at ``goes_at``; until then it can be taken back. ``audience`` other than
    private means that it also stands, without what identifies anybody, in the library as
    ``asked`` and ``note``.
    """

    class Audience(models.TextChoices):
        PRIVATE = "private", "only those who asked"
        MEMBERS = "members", "all members, anonymised"
        EVERYBODY = "everybody", "everybody, anonymised"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    by = models.ForeignKey(_person, null=True, on_delete=models.SET_NULL, related_name="+")
    text = models.TextField(help_text="Markdown, as it stands now.")
    audience = models.CharField(max_length=10, choices=Audience.choices, default=Audience.PRIVATE)
    asked = models.TextField("the question as the library shows it", blank=True)
    note = models.TextField("the answer as the library shows it", blank=True)
    topic = models.CharField(max_length=40, blank=True)
    regions = models.JSONField(default=list, blank=True)
    muscles = models.JSONField(default=list, blank=True)
    joints = models.JSONField(default=list, blank=True)
    cautions = models.JSONField(default=list, blank=True)
    release = models.ForeignKey(
        Release, null=True, blank=True, on_delete=models.SET_NULL, related_name="answers"
    )
    fingerprint = models.JSONField(default=dict, blank=True)
    search_words = models.TextField(blank=True)
    version = models.PositiveIntegerField(default=1)
    people = models.PositiveIntegerField("people who asked", default=1)
    readers = models.PositiveIntegerField(default=0)
    made_at = models.DateTimeField(default=timezone.now)
    changed_at = models.DateTimeField(auto_now=True)
    goes_at = models.DateTimeField()
    told_at = models.DateTimeField(null=True, blank=True)
    taken_back_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField("taken out of the library", null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-made_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(audience__in=["private", "members", "everybody"]), name="answer_audience_known"
            ),
            models.CheckConstraint(
                condition=Q(audience="private") | (~Q(asked="") & ~Q(note="")), name="answer_note_has_words"
            ),
            models.CheckConstraint(condition=Q(version__gt=0), name="answer_version_positive"),
        ]
        indexes = [
            models.Index(
                fields=["goes_at"],
                condition=Q(told_at__isnull=True, taken_back_at__isnull=True),
                name="answer_to_be_told",
            ),
            models.Index(
                fields=["audience", "-goes_at"],
                condition=Q(taken_back_at__isnull=True, withdrawn_at__isnull=True),
                name="answer_in_library",
            ),
            models.Index(
                F("goes_at").desc(),
                F("id").desc(),
                condition=Q(taken_back_at__isnull=True, withdrawn_at__isnull=True) & ~Q(audience="private"),
                name="answer_library_newest",
            ),
        ]

    def __str__(self) -> str:
        return f"answer of {self.made_at:%Y-%m-%d}"

    def get_absolute_url(self) -> str:
        return reverse("questions:answer", args=[self.key])

    @property
    def is_out(self) -> bool:
        """Those who asked can read it."""
        return self.taken_back_at is None and self.goes_at <= timezone.now()


class AnswerVersion(models.Model):
    """An earlier or the present wording. ``what_changed`` is told to those who asked when it is a correction."""

    answer = models.ForeignKey(Answer, on_delete=models.CASCADE, related_name="versions")
    number = models.PositiveIntegerField()
    text = models.TextField()
    note = models.TextField(blank=True)
    what_changed = models.CharField(max_length=400, blank=True)
    by = models.ForeignKey(_person, null=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField(default=timezone.now)
    told_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["number"]
        constraints = [models.UniqueConstraint(fields=["answer", "number"], name="answer_version_once")]

    def __str__(self) -> str:
        return f"{self.answer}, version {self.number}"


class Question(models.Model):
    """One question of one member. What the machine says stands in the columns; what a person put right wins.

    ``sorted`` keeps what sorting said at first, with its reasons. ``urgency`` is the worst flag that still
    stands (empty: none) and ``urgency_rank`` its place, 0 for none, higher for more urgent.
    """

    class State(models.TextChoices):
        DRAFT = "draft", "being written"
        WAITING = "waiting", "waiting"
        ANSWERED = "answered", "answered"
        ASIDE = "aside", "set aside"
        WITHDRAWN = "withdrawn", "taken back by the member"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    member = models.ForeignKey(_person, on_delete=models.CASCADE, related_name="questions")
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    text = models.TextField(blank=True)
    body_part = models.CharField(max_length=120, blank=True)
    since_when = models.CharField(max_length=120, blank=True)
    tried = models.TextField(blank=True)
    release = models.ForeignKey(
        Release, null=True, blank=True, on_delete=models.SET_NULL, related_name="questions"
    )
    moment_frame = models.PositiveIntegerField("frame of the release's video", null=True, blank=True)
    consent_to_publish = models.BooleanField(default=False)
    follows = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.CASCADE, related_name="follow_up"
    )

    topic = models.CharField(max_length=40, blank=True)
    regions = models.JSONField(default=list, blank=True)
    joints = models.JSONField(default=list, blank=True)
    muscles = models.JSONField(default=list, blank=True)
    minutes = models.DecimalField(max_digits=5, decimal_places=1, default=3)
    sorted = models.JSONField(default=dict, blank=True)
    fingerprint = models.JSONField(default=dict, blank=True)
    search_words = models.TextField(blank=True)
    group = models.ForeignKey(
        Group, null=True, blank=True, on_delete=models.SET_NULL, related_name="questions"
    )
    group_kept_apart = models.BooleanField("a person took it out of a group", default=False)
    urgency = models.CharField(max_length=40, blank=True)
    urgency_rank = models.PositiveSmallIntegerField(default=0)

    answer_draft = models.TextField("answer begun at the desk", blank=True)
    answer = models.ForeignKey(
        Answer, null=True, blank=True, on_delete=models.SET_NULL, related_name="questions"
    )
    handed_to = models.ForeignKey(
        _person, null=True, blank=True, on_delete=models.SET_NULL, related_name="questions_handed_on"
    )
    times_passed_over = models.PositiveIntegerField(default=0)
    promised_at = models.DateTimeField("when an answer was promised", null=True, blank=True)
    answer_by = models.DateField("the day that was promised", null=True, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)
    asked_at = models.DateTimeField(null=True, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    thanked_at = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField("when the member first opened the answer", null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-made_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["draft", "waiting", "answered", "aside", "withdrawn"]),
                name="question_state_known",
            ),
            models.CheckConstraint(
                condition=Q(state="draft") | Q(asked_at__isnull=False), name="question_sent_has_moment"
            ),
            models.CheckConstraint(
                condition=~Q(state="answered") | Q(answered_at__isnull=False),
                name="question_answered_has_moment",
            ),
            models.UniqueConstraint(
                fields=["member"],
                condition=Q(state="draft", follows__isnull=True),
                name="question_one_draft_each",
            ),
        ]
        indexes = [
            models.Index(
                F("urgency_rank").desc(), "asked_at", condition=Q(state="waiting"), name="question_waiting"
            ),
            models.Index(
                fields=["asked_at"],
                include=["minutes", "group", "handed_to", "id"],
                condition=Q(state="waiting"),
                name="question_waiting_oldest",
            ),
            models.Index(
                fields=["promised_at"],
                condition=Q(state="waiting", promised_at__isnull=False),
                name="question_promised",
            ),
            models.Index(fields=["member", "-asked_at"], name="question_of_member"),
            models.Index(fields=["asked_at"], name="question_asked"),
            models.Index(fields=["answered_at"], name="question_answered"),
        ]

    def __str__(self) -> str:
        return self.text[:60]

    def get_absolute_url(self) -> str:
        return reverse("questions:question", args=[self.key])

    @property
    def about_is_proposed(self) -> bool:
        """Breakdown and moment stand as the machine proposed them: nobody has said so yet."""
        proposed = self.sorted.get("moment")
        if not proposed or self.release is None:
            return False
        return (proposed["release"], proposed["frame"]) == (self.release.slug, self.moment_frame)

    @property
    def is_flagged(self) -> bool:
        return self.urgency_rank > 0

    @property
    def answer_is_out(self) -> bool:
        return self.state == self.State.ANSWERED and self.answer is not None and self.answer.is_out


class Passage(models.Model):
    """What a released breakdown says at one place, as a fingerprint that questions are compared with.

    ``place`` is -1 for the title, else the number of the beat.
    """

    release = models.ForeignKey(Release, on_delete=models.CASCADE, related_name="passages")
    place = models.IntegerField()
    start_frame = models.PositiveIntegerField(default=0)
    heading = models.CharField(max_length=200, blank=True)
    fingerprint = models.JSONField(default=dict)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["release", "place"], name="passage_once")]

    def __str__(self) -> str:
        return f"{self.release}, {self.heading or self.place}"


class Attachment(models.Model):
    """A picture of the member's, made anew from its pixels, or a video where the owner allows it."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    question = models.ForeignKey(Question, on_delete=models.CASCADE, related_name="attachments")
    kind = models.CharField(max_length=10, choices=[("picture", "picture"), ("video", "video")])
    file = models.CharField(max_length=200, help_text="Below MEDIA_ROOT.")
    width = models.PositiveIntegerField(default=0)
    height = models.PositiveIntegerField(default=0)
    bytes = models.PositiveBigIntegerField(default=0)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["made_at", "id"]

    def __str__(self) -> str:
        return f"{self.kind} of {self.question_id}"


class Screened(models.Model):
    """One red flag found in a question, and what a person decided about it with which reason."""

    class Decision(models.TextChoices):
        OPEN = "", "not decided"
        KEPT = "kept", "kept"
        CLEARED = "cleared", "cleared"

    question = models.ForeignKey(Question, on_delete=models.CASCADE, related_name="screened")
    flag = models.CharField(max_length=80)
    name = models.CharField(max_length=200)
    region = models.CharField(max_length=80, blank=True)
    urgency = models.CharField(max_length=40)
    because = models.TextField()
    action = models.TextField()
    sources = models.JSONField(default=list)
    spans = models.JSONField(default=list)
    decision = models.CharField(max_length=8, choices=Decision.choices, default=Decision.OPEN, blank=True)
    reason = models.CharField(max_length=400, blank=True)
    decided_by = models.ForeignKey(_person, null=True, on_delete=models.SET_NULL, related_name="+")
    decided_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["question", "flag"], name="flag_once_per_question"),
            models.CheckConstraint(condition=Q(decision="") | ~Q(reason=""), name="flag_decided_with_reason"),
        ]

    def __str__(self) -> str:
        return self.name


class Correction(models.Model):
    """What a person put right in the sorting of a question; later questions alike learn from it."""

    question = models.ForeignKey(Question, on_delete=models.CASCADE, related_name="corrections")
    field = models.CharField(max_length=20)
    said = models.JSONField("what the machine said", null=True)
    put = models.JSONField("what a person put", null=True)
    by = models.ForeignKey(_person, null=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["-made_at", "-id"]
        indexes = [models.Index(fields=["field", "-made_at"], name="correction_newest")]

    def __str__(self) -> str:
        return f"{self.field} of {self.question_id}"


class SetAside(models.Model):
    """A question set aside, with the reason that the member is told."""

    question = models.ForeignKey(Question, on_delete=models.CASCADE, related_name="set_aside")
    reason = models.CharField(max_length=400)
    by = models.ForeignKey(_person, null=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField(default=timezone.now)
    goes_at = models.DateTimeField()
    told_at = models.DateTimeField(null=True, blank=True)
    taken_back_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-made_at"]

    def __str__(self) -> str:
        return self.reason


class HandedOn(models.Model):
    """A question handed to a colleague of the studio, with a word about why."""

    question = models.ForeignKey(Question, on_delete=models.CASCADE, related_name="handed_on")
    to = models.ForeignKey(_person, null=True, on_delete=models.SET_NULL, related_name="+")
    by = models.ForeignKey(_person, null=True, on_delete=models.SET_NULL, related_name="+")
    word = models.CharField(max_length=400, blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    taken_back_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-made_at"]

    def __str__(self) -> str:
        return f"{self.question_id} to {self.to}"


class Sitting(models.Model):
    """The minutes somebody sits down for. The clock is the server's, so that it survives a reload."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    by = models.ForeignKey(_person, on_delete=models.CASCADE, related_name="sittings")
    minutes = models.PositiveSmallIntegerField()
    planned = models.JSONField("keys of questions, in the order chosen", default=list)
    left_over = models.JSONField("what the plan left for later, as told", default=dict)
    current = models.ForeignKey(Question, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    passed = models.JSONField("keys passed over for this sitting", default=list)
    started_at = models.DateTimeField(default=timezone.now)
    paused_at = models.DateTimeField(null=True, blank=True)
    paused_for = models.DurationField(default=timedelta)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-started_at"]
        constraints = [
            models.CheckConstraint(condition=Q(minutes__gt=0), name="sitting_minutes_positive"),
            models.UniqueConstraint(
                fields=["by"], condition=Q(ended_at__isnull=True), name="sitting_one_open_each"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.minutes} minutes of {self.by}"

    def get_absolute_url(self) -> str:
        """Its end as it is told."""
        return reverse("questions:ended", args=[self.key])

    def spent(self, now: Any = None) -> timedelta:
        """Time at the desk so far, pauses left out."""
        until = self.ended_at or self.paused_at or now or timezone.now()
        return max(timedelta(0), until - self.started_at - self.paused_for)

    def left(self, now: Any = None) -> timedelta:
        """Time that is left; negative when it is over."""
        return timedelta(minutes=self.minutes) - self.spent(now)


class Act(models.Model):
    """One thing done at the desk, with what stood before, so that it can be undone for ten minutes."""

    class Kind(models.TextChoices):
        ANSWERED = "answered", "answered"
        ASIDE = "aside", "set aside"
        HANDED = "handed", "handed on"
        FLAG = "flag", "decided about a flag"
        SORTED = "sorted", "put right"
        GROUPED = "grouped", "grouped"
        PASSED = "passed", "passed over"

    by = models.ForeignKey(_person, null=True, on_delete=models.SET_NULL, related_name="+")
    sitting = models.ForeignKey(
        Sitting, null=True, blank=True, on_delete=models.SET_NULL, related_name="acts"
    )
    kind = models.CharField(max_length=10, choices=Kind.choices)
    question = models.ForeignKey(Question, on_delete=models.CASCADE, related_name="acts")
    answer = models.ForeignKey(Answer, null=True, blank=True, on_delete=models.SET_NULL, related_name="acts")
    before = models.JSONField(default=dict)
    told = models.CharField("what was done, in words", max_length=200)
    people = models.PositiveIntegerField("people reached", default=0)
    made_at = models.DateTimeField(default=timezone.now)
    until = models.DateTimeField()
    taken_back_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-made_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=["answered", "aside", "handed", "flag", "sorted", "grouped", "passed"]),
                name="act_kind_known",
            )
        ]
        indexes = [models.Index(fields=["by", "-made_at"], name="act_newest_of")]

    def __str__(self) -> str:
        return self.told


class Elsewhere(models.Model):
    """A message that arrived where questions are not answered. What it keeps is what the owner chose."""

    class State(models.TextChoices):
        OPEN = "open", "not replied to yet"
        REPLIED = "replied", "reply copied"
        DROPPED = "dropped", "nothing to reply"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    state = models.CharField(max_length=8, choices=State.choices, default=State.OPEN)
    channel = models.CharField("where it arrived", max_length=60, blank=True)
    sender = models.CharField(max_length=200, blank=True)
    text = models.TextField(blank=True)
    sent_on = models.DateTimeField(null=True, blank=True)
    message_id = models.CharField("digest of its identifier", max_length=64, blank=True)
    urgency = models.CharField(max_length=40, blank=True)
    urgency_rank = models.PositiveSmallIntegerField(default=0)
    flags = models.JSONField(default=list, blank=True)
    topic = models.CharField(max_length=40, blank=True)
    regions = models.JSONField(default=list, blank=True)
    matched = models.ManyToManyField(Answer, blank=True, related_name="+")
    reply = models.TextField(blank=True)
    by = models.ForeignKey(_person, null=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    forget_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-urgency_rank", "-made_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["message_id"], condition=~Q(message_id=""), name="elsewhere_message_once"
            )
        ]
        indexes = [
            models.Index(
                fields=["forget_at"], condition=Q(forget_at__isnull=False), name="elsewhere_to_forget"
            )
        ]

    def __str__(self) -> str:
        return f"message by {self.channel or 'another way'}, {self.made_at:%Y-%m-%d}"


class Snippet(models.Model):
    """Words of one's own, put into answers by a short name."""

    owner = models.ForeignKey(_person, on_delete=models.CASCADE, related_name="snippets")
    name = models.CharField(max_length=60)
    text = models.TextField()
    used = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints = [models.UniqueConstraint(fields=["owner", "name"], name="snippet_name_once")]

    def __str__(self) -> str:
        return self.name
