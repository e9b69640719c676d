from django.urls import path

from . import views

app_name = "work"
urlpatterns = [
    path("<int:pk>/", views.progress, name="progress"),
    path("<int:pk>/stop/", views.stop, name="stop"),
    path("<int:pk>/again/", views.again, name="again"),
]
