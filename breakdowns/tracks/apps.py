from django.apps import AppConfig


class TracksConfig(AppConfig):
    name = "breakdowns.tracks"
    label = "tracks"
