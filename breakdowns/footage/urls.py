from django.urls import URLPattern

app_name = "footage"
urlpatterns: list[URLPattern] = []
