"""The addresses of documents."""

from django.urls import path

from reports import deviation_views, log_views, views

urlpatterns = [
    path("batches/<str:code>/record/", views.record_html, name="record-html"),
    path("batches/<str:code>/record.pdf", views.record_pdf_view, name="record-pdf"),
    path("batches/<str:code>/curve-<slug:slug>.svg", views.curve, name="curve"),
    path("instruments/<str:code>/drift.svg", views.drift, name="drift"),
    path(
        "deviations/<int:number>/record/",
        deviation_views.deviation_html,
        name="deviation-html",
    ),
    path(
        "deviations/<int:number>/deviation.pdf",
        deviation_views.deviation_pdf_view,
        name="deviation-pdf",
    ),
    path(
        "products/<int:pk>/plans/<int:number>/record/",
        views.plan_html,
        name="plan-html",
    ),
    path(
        "products/<int:pk>/plans/<int:number>/plan.pdf",
        views.plan_pdf_view,
        name="plan-pdf",
    ),
    path("copy/batches/<str:code>/", views.copy_record, name="copy-record"),
    path(
        "copy/batches/<str:code>/record.pdf",
        views.copy_record_pdf,
        name="copy-record-pdf",
    ),
    path(
        "copy/products/<int:pk>/plans/<int:number>/", views.copy_plan, name="copy-plan"
    ),
    path(
        "copy/products/<int:pk>/plans/<int:number>/plan.pdf",
        views.copy_plan_pdf,
        name="copy-plan-pdf",
    ),
    path(
        "products/<int:pk>/plan/plan.pdf", views.draft_pdf_view, name="draft-plan-pdf"
    ),
    path("records/<slug:kind>/sheet/", log_views.log_html, name="log-sheet"),
    path("records/<slug:kind>/sheet.pdf", log_views.log_pdf_view, name="log-pdf"),
    path("keeping/", log_views.keeping, name="keeping"),
    path("products/<int:pk>/salt.svg", views.salt_chart, name="salt-chart"),
]
