from django.urls import path

from .answers import views as answers
from .asking import views as asking
from .desk import views as desk
from .desk.keeping import views as keeping
from .elsewhere import views as elsewhere
from .figures import views as figures

app_name = "questions"
urlpatterns = [
    path("", asking.index, name="index"),
    path("ask/", asking.ask, name="ask"),
    path("ask/keep/", asking.keep, name="keep"),
    path("ask/likely/", asking.likely, name="likely"),
    path("ask/pictures/<uuid:key>/remove/", asking.attachment_drop, name="attachment_drop"),
    path("pictures/<uuid:key>/", asking.attachment, name="attachment"),
    path("answers/", answers.library, name="library"),
    path("feed/<str:token>/", answers.feed_read, name="feed"),
    path("answers/<uuid:key>/", asking.answer, name="answer"),
    path("answers/<uuid:key>/correct/", keeping.correct, name="correct"),
    path("elsewhere/", elsewhere.elsewhere, name="elsewhere"),
    path("elsewhere/<uuid:key>/forget/", elsewhere.elsewhere_drop, name="elsewhere_drop"),
    path("figures/", figures.figures, name="figures"),
    path("settings/", keeping.settings, name="settings"),
    path("desk/", desk.start, name="desk"),
    path("desk/now/", desk.sitting, name="sitting"),
    path("desk/let-go/", desk.let_go, name="let_go"),
    path("desk/pause/", desk.pause, name="pause"),
    path("desk/end/", desk.end, name="end"),
    path("desk/ended/<uuid:key>/", desk.ended, name="ended"),
    path("desk/insert/", desk.insert, name="insert"),
    path("desk/words/", keeping.snippets, name="snippets"),
    path("desk/undo/<int:pk>/", desk.undo, name="undo"),
    path("desk/<uuid:key>/keep/", desk.keep, name="desk_keep"),
    path("desk/<uuid:key>/preview/", desk.preview, name="preview"),
    path("desk/<uuid:key>/answer/", desk.answer, name="desk_answer"),
    path("desk/<uuid:key>/set-aside/", desk.set_aside, name="set_aside"),
    path("desk/<uuid:key>/hand-on/", desk.hand_on, name="hand_on"),
    path("desk/<uuid:key>/flag/", desk.flag, name="flag"),
    path("desk/<uuid:key>/put-right/", desk.put_right, name="put_right"),
    path("desk/<uuid:key>/ungroup/", desk.ungroup, name="ungroup"),
    path("desk/<uuid:key>/group/", desk.group, name="group"),
    path("desk/<uuid:key>/start-from/", desk.start_from, name="start_from"),
    path("desk/<uuid:key>/pass/", desk.pass_over, name="pass_over"),
    path("desk/<uuid:key>/look/", desk.look_at, name="look_at"),
    path("<uuid:key>/", asking.question, name="question"),
    path("<uuid:key>/now/", asking.urgent, name="urgent"),
    path("<uuid:key>/thank/", asking.thank, name="thank"),
    path("<uuid:key>/follow-up/", asking.follow_up, name="follow_up"),
    path("<uuid:key>/take-back/", asking.take_back, name="take_back"),
]
