"""The addresses of documents."""

from django.urls import path

from reports import views

urlpatterns = [
    path("batches/<str:code>/record/", views.record_html, name="record-html"),
    path("batches/<str:code>/record.pdf", views.record_pdf_view, name="record-pdf"),
    path("batches/<str:code>/curve-<slug:slug>.svg", views.curve, name="curve"),
]
