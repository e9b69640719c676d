from django.urls import path

from .asking import views as asking

app_name = "questions"
urlpatterns = [
    path("", asking.index, name="index"),
    path("ask/", asking.ask, name="ask"),
    path("ask/keep/", asking.keep, name="keep"),
    path("ask/likely/", asking.likely, name="likely"),
    path("ask/pictures/<uuid:key>/remove/", asking.attachment_drop, name="attachment_drop"),
    path("pictures/<uuid:key>/", asking.attachment, name="attachment"),
    path("answers/<uuid:key>/", asking.answer, name="answer"),
    path("<uuid:key>/", asking.question, name="question"),
    path("<uuid:key>/now/", asking.urgent, name="urgent"),
    path("<uuid:key>/thank/", asking.thank, name="thank"),
    path("<uuid:key>/follow-up/", asking.follow_up, name="follow_up"),
    path("<uuid:key>/take-back/", asking.take_back, name="take_back"),
]
