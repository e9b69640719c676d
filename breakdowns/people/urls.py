from django.urls import path

from . import views

app_name = "people"
urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-in/send/", views.send_link, name="send_link"),
    path("sign-in/<str:token>/", views.link, name="link"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("account/", views.account, name="account"),
    path("people/", views.people, name="people"),
    path("people/<int:pk>/switch/", views.person_switch, name="person_switch"),
]
