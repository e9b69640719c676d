from django.urls import path

from . import views

app_name = "assembly"
urlpatterns = [
    path("plate/", views.plate, name="plate"),
    path("plate/faults/", views.plate_says, name="plate_says"),
    path("of/<slug:slug>/", views.assemble, name="assemble"),
    path("of/<slug:slug>/ledger/", views.ledger, name="ledger"),
    path("<uuid:key>/", views.assembly, name="assembly"),
    path("<uuid:key>/<str:what>/", views.assembly_file, name="file"),
]
