from django.urls import path

from . import views

app_name = "footage"
urlpatterns = [
    path("", views.index, name="index"),
    path("add/", views.add, name="add"),
    path("add/begin/", views.begin, name="begin"),
    path("add/details/", views.details, name="details"),
    path("uploads/<uuid:key>/", views.upload, name="upload"),
    path("events/<int:pk>/", views.together, name="together"),
    path("<uuid:key>/", views.source, name="source"),
    path("<uuid:key>/edit/", views.edit, name="edit"),
    path("<uuid:key>/delete/", views.delete, name="delete"),
    path("<uuid:key>/sync/", views.sync, name="sync"),
    path("<uuid:key>/media/<slug:which>/", views.media, name="media"),
    path("<uuid:key>/still/<int:frame>/", views.still, name="still"),
]
