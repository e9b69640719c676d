from django.urls import URLPattern

app_name = "scripts"
urlpatterns: list[URLPattern] = []
