"""The addresses of the site: those of the records and those of the documents."""

from django.urls import include, path

urlpatterns = [
    path("", include("batches.urls")),
    path("", include("reports.urls")),
]
