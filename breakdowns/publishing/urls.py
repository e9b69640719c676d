from django.urls import path

from . import views

app_name = "publishing"
urlpatterns = [
    path("read/", views.index, name="index"),
    path("read/<slug:slug>/", views.read, name="read"),
    path("read/<slug:slug>/<int:number>/<str:name>/", views.release_file, name="file"),
    path("release/<uuid:key>/", views.release, name="release"),
    path("withdraw/<int:pk>/", views.withdraw, name="withdraw"),
]
