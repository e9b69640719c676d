"""Every address of the site, a line for each stage."""

from django.urls import include, path

urlpatterns = [
    path("", include("breakdowns.people.urls")),
    path("footage/", include("breakdowns.footage.urls")),
    path("excerpts/", include("breakdowns.excerpts.urls")),
    path("stills/", include("breakdowns.stills.urls")),
    path("tracks/", include("breakdowns.tracks.urls")),
    path("postures/", include("breakdowns.postures.urls")),
    path("contact/", include("breakdowns.contacts.urls")),
    path("scripts/", include("breakdowns.scripts.urls")),
    path("vocabulary/", include("breakdowns.glossary.urls")),
    path("assembly/", include("breakdowns.assembly.urls")),
    path("work/", include("breakdowns.work.urls")),
    path("questions/", include("breakdowns.questions.urls")),
    path("", include("breakdowns.publishing.urls")),
]

handler403 = "breakdowns.people.views.forbidden"
handler404 = "breakdowns.people.views.not_found"
handler500 = "breakdowns.people.views.server_error"
