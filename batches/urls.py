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
    laboratory,
    lots,
    plan_versions,
    plans,
    products,
    reviews,
    trail,
)
from batches.views.more import more
from batches.views.now import now_page
from batches.views.record import record

urlpatterns = [
    path("", now_page, name="now"),
    path("more/", more, name="more"),
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
    path("batches/<str:code>/review/", reviews.batch_review, name="batch-review"),
    path(
        "batches/<str:code>/lab-result/<int:pk>/",
        laboratory.report_arrived,
        name="lab-report",
    ),
    path("review/", reviews.review_list, name="review-list"),
    path("review/weeks/<str:day>/", reviews.week_review, name="week-review"),
    path("laboratory/", laboratory.laboratory, name="laboratory"),
    path("laboratory/<int:pk>/read/", laboratory.report_read, name="lab-read"),
    path("products/<int:pk>/salt/", laboratory.product_salt, name="product-salt"),
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
    path("products/<int:pk>/", plans.product_detail, name="product"),
    path("products/<int:pk>/plan/start/", plans.plan_start, name="plan-start"),
    path("products/<int:pk>/plan/", plans.plan_draft, name="plan"),
    path("products/<int:pk>/plan/hazards/", plans.plan_hazards, name="plan-hazards"),
    path(
        "products/<int:pk>/plan/hazards/<slug:hazard>/",
        plans.plan_decide,
        name="plan-decide",
    ),
    path("products/<int:pk>/plan/describe/", plans.plan_describe, name="plan-describe"),
    path("products/<int:pk>/plan/who/", plans.plan_who, name="plan-who"),
    path("products/<int:pk>/plan/schedule/", plans.plan_schedule, name="plan-schedule"),
    path(
        "products/<int:pk>/plan/limits/<str:limit>/",
        plans.plan_limit,
        name="plan-limit",
    ),
    path("products/<int:pk>/plan/own/", plans.plan_own, name="plan-own"),
    path(
        "products/<int:pk>/plan/own/<str:limit>/remove/",
        plans.plan_own_remove,
        name="plan-own-remove",
    ),
    path("products/<int:pk>/plan/letter/", plans.plan_letter, name="plan-letter"),
    path("products/<int:pk>/plan/sign/", plan_versions.plan_sign, name="plan-sign"),
    path(
        "products/<int:pk>/plans/<int:number>/",
        plan_versions.plan_signed,
        name="plan-signed",
    ),
    path(
        "products/<int:pk>/plans/<int:one>/vs/<int:two>/",
        plan_versions.plan_compare,
        name="plan-compare",
    ),
    path(
        "products/<int:pk>/plans/<int:number>/again/",
        plan_versions.plan_reassess,
        name="plan-reassess",
    ),
    path(
        "products/<int:pk>/guidance/",
        guidance.guidance_product,
        name="guidance-product",
    ),
    path("letters/<slug:sha256>/", plan_versions.letter, name="letter"),
    path("trail/", trail.trail_list, name="trail"),
    path("trail/verified/", trail.trail_verified, name="trail-verified"),
    path("guidance/", guidance.guidance, name="guidance"),
    path("guidance/<str:identity>/", guidance.guidance_limit, name="guidance-limit"),
]
