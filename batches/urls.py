"""The addresses of the records."""

from django.contrib.auth.views import LogoutView
from django.urls import path

from batches.views import (
    batch,
    corrections,
    entering,
    entries,
    guidance,
    importing,
    instruments,
    lots,
    products,
)
from batches.views.now import now_page
from batches.views.record import record

urlpatterns = [
    path("", now_page, name="now"),
    path("sign-in/", entering.SignIn.as_view(), name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("first-run/", entering.first_run, name="first-run"),
    path("theme/", entering.theme, name="theme"),
    path("batches/", batch.batch_list, name="batch-list"),
    path("batches/start/", batch.batch_start, name="batch-start"),
    path("batches/<str:code>/", batch.batch_detail, name="batch"),
    path("batches/<str:code>/batch.json", batch.batch_json, name="batch-file"),
    path(
        "batches/<str:code>/record/<slug:step>/<slug:quantity>/", record, name="record"
    ),
    path("batches/<str:code>/step/", entries.step_mark, name="step-mark"),
    path("batches/<str:code>/statement/", entries.statement, name="statement"),
    path("batches/<str:code>/date/", entries.date, name="date"),
    path("batches/<str:code>/remark/", entries.remark, name="remark"),
    path("batches/<str:code>/lab-result/", entries.lab_result, name="lab-result"),
    path("batches/<str:code>/import/", importing.upload, name="import"),
    path(
        "batches/<str:code>/import/<slug:token>/",
        importing.understood,
        name="import-read",
    ),
    path(
        "batches/<str:code>/correct/<slug:kind>/<int:pk>/",
        corrections.correct,
        name="correct",
    ),
    path("instruments/", instruments.instrument_list, name="instrument-list"),
    path("instruments/add/", instruments.instrument_add, name="instrument-add"),
    path(
        "instruments/<str:code>/check/",
        instruments.instrument_check,
        name="instrument-check",
    ),
    path(
        "instruments/<str:code>/check/<int:pk>/correct/",
        instruments.check_correct,
        name="check-correct",
    ),
    path("lots/", lots.lot_list, name="lot-list"),
    path("lots/receive/", lots.lot_receive, name="lot-receive"),
    path("products/", products.product_list, name="product-list"),
    path("products/add/", products.product_add, name="product-add"),
    path(
        "products/<int:pk>/guidance/",
        guidance.guidance_product,
        name="guidance-product",
    ),
    path("guidance/", guidance.guidance, name="guidance"),
    path("guidance/<str:identity>/", guidance.guidance_limit, name="guidance-limit"),
]
