from django.urls import path

from . import views
from .contact import views as contact
from .posture_plates import views as posture_plates
from .sentence import views as sentence
from .tradeoffs import views as tradeoffs
from .two_views import views as two_views
from .wording import views as wording

app_name = "scripts"
urlpatterns = [
    path("", views.index, name="index"),
    path("new/", views.create, name="create"),
    path("vocabulary/terms/", wording.vocabulary_terms, name="vocabulary_terms"),
    path("vocabulary/meaning/", wording.vocabulary_meaning, name="vocabulary_meaning"),
    path("put/sentence/", sentence.put, name="put_sentence"),
    path("put/posture/", posture_plates.put, name="put_posture"),
    path("put/contact/", contact.put, name="put_contact"),
    path("<slug:slug>/", views.script, name="script"),
    path("<slug:slug>/settings/", views.settings, name="settings"),
    path("<slug:slug>/margin/", views.margin, name="margin"),
    path("<slug:slug>/here/", views.here, name="here"),
    path("<slug:slug>/prompter/", views.prompter, name="prompter"),
    path("<slug:slug>/print/", views.print_sheet, name="print"),
    path("<slug:slug>/import/", views.import_transcript, name="import"),
    path("<slug:slug>/undo/", views.undo, name="undo"),
    path("<slug:slug>/redo/", views.redo, name="redo"),
    path("<slug:slug>/notes/act/", views.note_action, name="note_action"),
    path("<slug:slug>/notes/answer/", views.note_answer, name="note_answer"),
    path("<slug:slug>/set-aside/<int:pk>/", views.settle, name="settle"),
    path("<slug:slug>/beats/insert/", views.beat_insert, name="beat_insert"),
    path("<slug:slug>/beats/<uuid:key>/insert/", views.beat_insert, name="beat_insert"),
    path("<slug:slug>/beats/<uuid:key>/save/", views.beat_save, name="beat_save"),
    path("<slug:slug>/beats/<uuid:key>/check/", wording.beat_check, name="beat_check"),
    path("<slug:slug>/beats/<uuid:key>/move/", views.beat_move, name="beat_move"),
    path("<slug:slug>/beats/<uuid:key>/delete/", views.beat_delete, name="beat_delete"),
    path("<slug:slug>/beats/<uuid:key>/split/", views.beat_split, name="beat_split"),
    path("<slug:slug>/beats/<uuid:key>/join/", views.beat_join, name="beat_join"),
    path("<slug:slug>/beats/<uuid:key>/duplicate/", views.beat_duplicate, name="beat_duplicate"),
    path("<slug:slug>/beats/<uuid:key>/contact/", contact.kept, name="contact"),
    path("<slug:slug>/beats/<uuid:key>/trade-offs/", tradeoffs.tradeoffs, name="tradeoffs"),
    path("<slug:slug>/beats/<uuid:key>/two-views/", two_views.two_views, name="two_views"),
    path("<slug:slug>/beats/<uuid:key>/picture/", views.beat_picture, name="beat_picture"),
]
