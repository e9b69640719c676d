from django.urls import path

from . import views

app_name = "postures"
urlpatterns = [
    path("", views.index, name="index"),
    path("look/", views.look, name="look"),
    path("length/", views.length, name="length"),
    path("keep/", views.keep, name="keep"),
    path("from/<uuid:key>/", views.take, name="take"),
    path("<uuid:key>/", views.kept, name="kept"),
    path("<uuid:key>/version/<int:version>/", views.earlier, name="earlier"),
    path("<uuid:key>/delete/", views.delete, name="delete"),
]
