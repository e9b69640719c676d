from django.urls import URLPattern

app_name = "excerpts"
urlpatterns: list[URLPattern] = []
