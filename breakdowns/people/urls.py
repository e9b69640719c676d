from django.urls import path

from . import views
from .account import views as account
from .importing import views as importing
from .membership import views as membership
from .post import views as post
from .webhook import views as webhook

app_name = "people"
urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-in/send/", views.send_link, name="send_link"),
    path("sign-in/<str:token>/", views.link, name="link"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("invited/<str:token>/", views.invited, name="invited"),
    path("letters/off/<str:token>/", post.letters_off, name="letters_off"),
    path("account/", account.account, name="account"),
    path("account/letters/", account.letters, name="account_letters"),
    path("account/feed/", account.feed, name="account_feed"),
    path("account/cancel/", account.cancel, name="cancel"),
    path("account/data/", account.data, name="data"),
    path("account/data/file/", account.data_file, name="data_file"),
    path("account/erase/", account.erase, name="erase"),
    path("people/", views.people, name="people"),
    path("people/<int:pk>/switch/", views.person_switch, name="person_switch"),
    path("members/", membership.index, name="members"),
    path("members/add/", membership.add, name="member_add"),
    path("members/settings/", membership.settings, name="member_settings"),
    path("members/import/", importing.index, name="imports"),
    path("members/import/<int:pk>/", importing.settle, name="import"),
    path("members/import/<int:pk>/lines/", importing.look, name="import_look"),
    path("members/import/<int:pk>/report/", importing.report, name="import_report"),
    path("members/import/<int:pk>/forget/", importing.forget, name="import_forget"),
    path("members/events/", webhook.events, name="events"),
    path("members/services/", webhook.index, name="services"),
    path("members/services/<int:pk>/key/", webhook.rotate, name="service_rotate"),
    path("members/services/keys/<int:pk>/revoke/", webhook.revoke, name="service_key_revoke"),
    path("members/letters/", post.outbox, name="outbox"),
    path("members/letters/<int:pk>/again/", post.again, name="letter_again"),
    path("members/<int:pk>/", membership.member, name="member"),
    path("members/<int:pk>/invite/", membership.invite, name="member_invite"),
    path("members/<int:pk>/take-back/", membership.take_back, name="member_take_back"),
    path("members/days/<int:pk>/", membership.change, name="member_days"),
    path("members/days/<int:pk>/end/", membership.end, name="member_end"),
]
