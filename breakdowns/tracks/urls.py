from django.urls import path

from . import views

app_name = "tracks"
urlpatterns = [
    path("", views.index, name="index"),
    path("on/<uuid:key>/", views.make, name="make"),
    path("<uuid:key>/", views.track, name="track"),
    path("<uuid:key>/panel/", views.panel, name="panel"),
    path("<uuid:key>/points/", views.points, name="points"),
    path("<uuid:key>/change/", views.change, name="change"),
    path("<uuid:key>/undo/", views.undo, name="undo"),
    path("<uuid:key>/redo/", views.redo, name="redo"),
    path("<uuid:key>/delete/", views.delete, name="delete"),
    path("<uuid:key>/out/<slug:kind>/", views.export, name="export"),
]
