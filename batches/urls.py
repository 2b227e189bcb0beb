"""The addresses of the records."""

from django.contrib.auth.views import LogoutView
from django.urls import path

from batches.views import (
    batch,
    batch_case,
    checks,
    corrections,
    deviations,
    entering,
    entries,
    guidance,
    importing,
    instrument,
    instruments,
    logbook,
    lots,
    plan_versions,
    plans,
    products,
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
    path("batches/<str:code>/open/", batch_case.open_due, name="open-due"),
    path("batches/<str:code>/hold/", batch_case.hold, name="hold"),
    path(
        "batches/<str:code>/deviation/",
        batch_case.open_by_hand,
        name="deviation-open",
    ),
    path("batches/<str:code>/release/", batch_case.release, name="release"),
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
    path("deviations/", deviations.deviation_list, name="deviation-list"),
    path("deviations/<int:number>/", deviations.deviation_detail, name="deviation"),
    path(
        "deviations/<int:number>/hold/",
        deviations.deviation_hold,
        name="deviation-hold",
    ),
    path(
        "deviations/<int:number>/answer/<slug:kind>/",
        deviations.deviation_answer,
        name="deviation-answer",
    ),
    path(
        "deviations/<int:number>/decide/",
        deviations.deviation_decide,
        name="deviation-decide",
    ),
    path(
        "deviations/<int:number>/rework/",
        deviations.deviation_rework,
        name="deviation-rework",
    ),
    path(
        "deviations/<int:number>/close/",
        deviations.deviation_close,
        name="deviation-close",
    ),
    path("photos/<int:pk>/", deviations.photo, name="photo"),
    path("instruments/", instruments.instrument_list, name="instrument-list"),
    path("instruments/add/", instruments.instrument_add, name="instrument-add"),
    path("instruments/<str:code>/", instrument.instrument_detail, name="instrument"),
    path(
        "instruments/<str:code>/change/",
        instrument.instrument_change,
        name="instrument-change",
    ),
    path(
        "instruments/<str:code>/use/", instrument.instrument_use, name="instrument-use"
    ),
    path(
        "instruments/<str:code>/check/",
        checks.instrument_check,
        name="instrument-check",
    ),
    path(
        "instruments/<str:code>/check/<int:pk>/correct/",
        checks.check_correct,
        name="check-correct",
    ),
    path(
        "instruments/<str:code>/check/<int:pk>/touches/",
        checks.check_touches,
        name="check-touches",
    ),
    path("lots/", lots.lot_list, name="lot-list"),
    path("lots/receive/", lots.lot_receive, name="lot-receive"),
    path("records/", logbook.logbook, name="logbook"),
    path("records/sanitation/conditions/", logbook.conditions, name="conditions"),
    path(
        "records/sanitation/conditions/<slug:condition>/hide/",
        logbook.condition_hide,
        name="condition-hide",
    ),
    path("records/documents/<int:pk>/file/", logbook.log_file, name="log-file"),
    path("records/<slug:kind>/", logbook.log_list, name="log-list"),
    path("records/<slug:kind>/add/", logbook.log_add, name="log-add"),
    path(
        "records/<slug:kind>/<int:pk>/correct/",
        logbook.log_correct,
        name="log-correct",
    ),
    path(
        "records/<slug:kind>/<int:pk>/follow-up/",
        logbook.log_follow,
        name="log-follow",
    ),
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
