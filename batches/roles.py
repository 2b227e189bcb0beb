"""Who may do what: the one table of roles and acts, and of the pages that show them."""

from collections.abc import Mapping
from dataclasses import dataclass

OWNER, MAKER, REVIEWER, INSPECTOR = "owner", "maker", "reviewer", "inspector"
ROLES = (OWNER, MAKER, REVIEWER, INSPECTOR)
EVERYBODY = frozenset(ROLES)
ANYBODY = "anybody"  # no act: the page is open to strangers, too
LINK = "link"  # no act: the page is open to whoever came by an inspector's link


@dataclass(frozen=True, slots=True)
class Act:
    """One thing that somebody may do; ``refusal`` is said to whoever may not."""

    words: str
    roles: frozenset[str]
    refusal: str


_WORKERS = frozenset({OWNER, MAKER})
_OWNERS = frozenset({OWNER})

ACTS: Mapping[str, Act] = {
    "read": Act("read every record of the producer", EVERYBODY, ""),
    "self": Act("change the own password, unit and second step", EVERYBODY, ""),
    # A record is entered by whoever sees it, when it is seen (21 CFR 123.9(a)): a reviewer
    # who minds the stall for a day writes its readings, too. Reviewing them is another act.
    "record": Act(
        "record what was seen: readings, steps, statements, dates, remarks, laboratory "
        "reports, files; correct it",
        frozenset({OWNER, MAKER, REVIEWER}),
        "Inspectors read the record; only the producer's own people and its reviewer "
        "add to it.",
    ),
    "trail": Act(
        "read the trail of every change",
        frozenset({OWNER, REVIEWER, INSPECTOR}),
        "The trail is read by the owner, a reviewer or an inspector. Ask one of them.",
    ),
    "start": Act(
        "receive lots and start batches",
        _WORKERS,
        "Only owners and makers receive lots and start batches.",
    ),
    "check": Act(
        "add instruments and check them",
        _WORKERS,
        "Only owners and makers add and check instruments.",
    ),
    # What becomes of food that was held is decided by whoever is qualified to judge it,
    # with a note that says why: a reviewer may be; so it belongs to "record".
    "release": Act(
        "sign the release of a batch",
        _WORKERS,
        "Only owners and makers release a batch.",
    ),
    "review": Act(
        "review records and sign reviews",
        frozenset({OWNER, REVIEWER}),
        "Only owners and reviewers review records.",
    ),
    "product": Act(
        "add products and say what is true of them",
        _OWNERS,
        "Only an owner describes products.",
    ),
    "plan": Act(
        "write, sign and reassess plans",
        _OWNERS,
        "Only an owner changes or signs a plan.",
    ),
    "people": Act(
        "add people, change their roles, end memberships",
        _OWNERS,
        "Only an owner sees and changes who belongs to the producer.",
    ),
    "links": Act(
        "give and revoke inspectors' links",
        _OWNERS,
        "Only an owner gives and revokes inspectors' links.",
    ),
}


@dataclass(frozen=True, slots=True)
class Page:
    """What it takes to see a page, and to send its form; None where there is none."""

    see: str
    do: str | None = None


_FOR_OWNERS = Page("people", "people")  # what nobody said is for owners only

PAGES: Mapping[str, Page] = {
    # signing in
    "sign-in": Page(ANYBODY, ANYBODY),
    "sign-in-code": Page(ANYBODY, ANYBODY),
    "sign-out": Page(ANYBODY, ANYBODY),
    "first-run": Page(ANYBODY, ANYBODY),
    "theme": Page(ANYBODY, ANYBODY),
    "continue": Page("self", "self"),
    # guidance, which is published
    "guidance": Page(ANYBODY),
    "guidance-limit": Page(ANYBODY),
    "guidance-product": Page("read"),
    # the workbench, whose answers are estimates
    "workbench": Page(ANYBODY),
    "calculator": Page(ANYBODY),
    "estimate-attach": Page("record", "record"),
    # batches
    "now": Page("read"),
    "more": Page("read"),
    "batch-list": Page("read"),
    "batch-start": Page("start", "start"),
    "batch": Page("read"),
    "batch-file": Page("read"),
    "record": Page("read", "record"),
    "step-mark": Page("record", "record"),
    "statement": Page("record", "record"),
    "date": Page("record", "record"),
    "remark": Page("record", "record"),
    "brine": Page("record", "record"),
    "soak-break": Page("record", "record"),
    "lab-result": Page("record", "record"),
    "import": Page("record", "record"),
    "import-read": Page("record", "record"),
    "correct": Page("record", "record"),
    "open-due": Page("record", "record"),
    "hold": Page("record", "record"),
    "deviation-open": Page("record", "record"),
    "release": Page("release", "release"),
    "lot-stock": Page("read"),
    "lot-origin": Page("read"),
    "lot-list": Page("read"),
    "lot-receive": Page("start", "start"),
    "lot": Page("read"),
    "lot-hold": Page("record", "record"),
    "lot-deviation": Page("record", "record"),
    # packages
    "package-list": Page("read"),
    "batch-packages": Page("read"),
    "pack": Page("record", "record"),
    "dispatch": Page("record", "record"),
    "stock-count": Page("record", "record"),
    "buyer-list": Page("read"),
    "buyer-add": Page("record", "record"),
    "buyer": Page("record", "record"),
    "market-list": Page("read"),
    "market-open": Page("record", "record"),
    "market": Page("read"),
    "market-count": Page("record", "record"),
    "market-sell": Page("record", "record"),
    "trace": Page("read"),
    "recall-list": Page("read"),
    "recall-start": Page("record", "record"),
    "recall": Page("read"),
    "recall-ask": Page("record", "record"),
    "recall-end": Page("release", "release"),
    "recall-notice": Page("read"),
    # instruments
    "instrument-list": Page("read"),
    "instrument-add": Page("check", "check"),
    "instrument-check": Page("read", "check"),
    "check-correct": Page("check", "check"),
    "instrument": Page("read"),
    "instrument-change": Page("check", "check"),
    "instrument-use": Page("check", "check"),
    "check-touches": Page("read", "record"),
    "drift": Page("read"),
    # deviations
    "deviation-list": Page("read"),
    "deviation": Page("read"),
    "deviation-hold": Page("record", "record"),
    "deviation-answer": Page("record", "record"),
    "deviation-decide": Page("record", "record"),
    "deviation-rework": Page("start", "start"),
    "deviation-take-back": Page("record", "record"),
    "deviation-close": Page("record", "record"),
    "deviation-html": Page("read"),
    "deviation-pdf": Page("read"),
    "photo": Page("read"),
    # reviews and laboratory
    "review-list": Page("read", "plan"),
    "batch-review": Page("read", "review"),
    "week-review": Page("read", "review"),
    "laboratory": Page("read"),
    "lab-report": Page("record", "record"),
    "lab-read": Page("record", "record"),
    "product-salt": Page("read"),
    "salt-chart": Page("read"),
    # the records beside the batches
    "logbook": Page("read"),
    "conditions": Page("read"),
    "condition-hide": Page("record", "record"),
    "condition-time": Page("record", "record"),
    "log-file": Page("read"),
    "log-list": Page("read"),
    "log-add": Page("record", "record"),
    "log-correct": Page("record", "record"),
    "log-follow": Page("record", "record"),
    "log-sheet": Page("read"),
    "log-pdf": Page("read"),
    "keeping": Page("read", "people"),
    # products and plans
    "product-list": Page("read"),
    "product-add": Page("product", "product"),
    "product": Page("read", "product"),
    "plan-start": Page("plan", "plan"),
    "plan": Page("read"),
    "plan-hazards": Page("read"),
    "plan-decide": Page("plan", "plan"),
    "plan-describe": Page("plan", "plan"),
    "plan-who": Page("plan", "plan"),
    "plan-schedule": Page("plan", "plan"),
    "plan-reviewed": Page("plan", "plan"),
    "plan-limit": Page("plan", "plan"),
    "plan-own": Page("plan", "plan"),
    "plan-own-remove": Page("plan", "plan"),
    "plan-letter": Page("plan", "plan"),
    "plan-sign": Page("plan", "plan"),
    "plan-signed": Page("read"),
    "plan-compare": Page("read"),
    "plan-reassess": Page("plan", "plan"),
    "letter": Page("read"),
    # documents
    "record-html": Page("read"),
    "record-pdf": Page("read"),
    "curve": Page("read"),
    "plan-html": Page("read"),
    "plan-pdf": Page("read"),
    "draft-plan-pdf": Page("read"),
    # the trail
    "trail": Page("trail"),
    "trail-verified": Page("trail"),
    # people
    "people": Page("people", "people"),
    "person-add": Page("people", "people"),
    "person": Page("people", "people"),
    "person-end": Page("people", "people"),
    "person-resume": Page("people", "people"),
    "person-password": Page("people", "people"),
    "person-second-step": Page("people", "people"),
    "me": Page("self", "self"),
    "me-password": Page("self", "self"),
    "second-step": Page("self", "self"),
    # inspectors' links
    "link-list": Page("links"),
    "link-add": Page("links", "links"),
    "link": Page("links"),
    "link-revoke": Page("links", "links"),
    "copy-open": Page(ANYBODY),
    "copy": Page(LINK),
    "copy-record": Page(LINK),
    "copy-record-pdf": Page(LINK),
    "copy-plan": Page(LINK),
    "copy-plan-pdf": Page(LINK),
}


def page(name: str | None) -> Page:
    """Return who may see the page of that address; only owners, where nobody said."""
    return PAGES.get(name or "", _FOR_OWNERS)


def may(role: str, act: str) -> bool:
    """Say whether somebody in this role may do this."""
    return role in ACTS[act].roles
