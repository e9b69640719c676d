from django.urls import path

from . import views

app_name = "excerpts"
urlpatterns = [
    path("policies/", views.policies, name="policies"),
    path("policies/make/", views.policy_make, name="policy_make"),
    path("policies/<int:pk>/", views.policy, name="policy"),
    path("policies/<int:pk>/delete/", views.policy_remove, name="policy_remove"),
    path("on/<uuid:key>/", views.create, name="create"),
    path("<int:pk>/", views.edit, name="edit"),
    path("<int:pk>/delete/", views.delete, name="delete"),
]
