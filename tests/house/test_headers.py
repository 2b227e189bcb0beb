"""Every answer tells the browser to run nothing from elsewhere."""

from django.http import HttpResponse

from safety.site.headers import ContentSecurityPolicy


def test_answers_carry_the_policy(rf):
    answer = ContentSecurityPolicy(lambda _: HttpResponse())(rf.get("/"))
    policy = answer.headers["Content-Security-Policy"]
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'self'"
    assert "script-src" not in rules  # scripts fall under the default: ours alone
    assert rules["frame-ancestors"] == "'none'"


def test_an_answer_may_set_a_stricter_policy_of_its_own(rf):
    own = HttpResponse(headers={"Content-Security-Policy": "default-src 'none'"})
    answer = ContentSecurityPolicy(lambda _: own)(rf.get("/"))
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'"
