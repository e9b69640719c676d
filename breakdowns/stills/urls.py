from django.urls import path

from . import views

app_name = "stills"
urlpatterns = [
    path("", views.index, name="index"),
    path("make/<uuid:key>/", views.make, name="make"),
    path("<uuid:key>/", views.still, name="still"),
    path("<uuid:key>/draw/", views.draw_marks, name="draw"),
    path("<uuid:key>/save/", views.save, name="save"),
    path("<uuid:key>/undo/", views.undo, name="undo"),
    path("<uuid:key>/redo/", views.redo, name="redo"),
    path("<uuid:key>/change/", views.change, name="change"),
    path("<uuid:key>/settle/<int:number>/", views.settle, name="settle"),
    path("<uuid:key>/name/", views.rename, name="name"),
    path("<uuid:key>/copy/", views.copy, name="copy"),
    path("<uuid:key>/beside/", views.beside, name="beside"),
    path("<uuid:key>/delete/", views.delete, name="delete"),
    path("<uuid:key>/marks.<slug:kind>", views.export, name="export"),
]
