from django.urls import path

from . import views

app_name = "glossary"
urlpatterns = [
    path("", views.index, name="index"),
    path("own/", views.own, name="own"),
    path("own/terms/add/", views.own_term_add, name="own_term_add"),
    path("own/terms/<int:pk>/", views.own_term, name="own_term"),
    path("own/terms/<int:pk>/remove/", views.own_term_remove, name="own_term_remove"),
    path("own/entries/add/", views.own_entry_add, name="own_entry_add"),
    path("own/entries/<int:pk>/", views.own_entry, name="own_entry"),
    path("own/entries/<int:pk>/remove/", views.own_entry_remove, name="own_entry_remove"),
    path("own/put-back/", views.own_put_back, name="own_put_back"),
    path("<slug:kind>/<slug:slug>/", views.entry, name="entry"),
    path("<slug:kind>/<slug:slug>/plate/", views.plate, name="plate"),
]
