"""``any_of`` and ``all_of``: published alternatives and combinations."""

from collections.abc import Callable, Iterator

from safety.judge.finding import Finding, Status, worst
from safety.judge.gather import Place
from safety.judge.placing import Scene, Verdict, in_order
from safety.judge.sentences import state
from safety.limits.model import Combination, CoolLimit, Limit, ValueLimit

JudgeLimit = Callable[[Limit, Scene], list[Finding]]
Key = tuple[str, tuple[str, ...]]


def judge(limit: Combination, scene: Scene, judge_limit: JudgeLimit) -> list[Finding]:
    """Judge a combination from its members' findings.

    Parameters
    ----------
    limit : Combination
        Its members may be combinations themselves.
    scene : Scene
        The step that members without one of their own take over.
    judge_limit : callable
        Judges one member.

    Returns
    -------
    list of Finding
        Place by place where all members judge the same quantity of the same step;
        otherwise one, each member counting with its worst status.
    """
    judged = [judge_limit(member, _scene_of(member, scene)) for member in limit.limits]
    if _is_per_place(limit, scene):
        places = in_order({each.place: None for found in judged for each in found})
        by_place = [{each.place: each for each in found} for found in judged]
        return [
            scene.finding(limit, place, _at_place(limit, by_place, place))
            for place in places
        ]
    members = [(worst([each.status for each in found]), found) for found in judged]
    cautions = tuple(
        dict.fromkeys(c for found in judged for each in found for c in each.cautions)
    )
    return [scene.finding(limit, None, _combine(limit, members, cautions))]


def _scene_of(member: Limit, scene: Scene) -> Scene:
    step = member.step or scene.step
    return Scene(scene.gathered, scene.clock, scene.control_point, step)


def _is_per_place(limit: Combination, scene: Scene) -> bool:
    keys = list(_keys(limit, scene))
    return None not in keys and len(set(keys)) == 1


def _keys(limit: Limit, scene: Scene) -> Iterator[Key | None]:
    """Yield quantity and steps of every member that judges places; None for others."""
    if isinstance(limit, Combination):
        for member in limit.limits:
            yield from _keys(member, _scene_of(member, scene))
    elif isinstance(limit, ValueLimit):
        yield limit.quantity, (scene.step or "",)
    elif isinstance(limit, CoolLimit):
        yield limit.quantity, tuple(sorted(limit.steps))
    else:
        yield None


def _at_place(
    limit: Combination, by_place: list[dict[Place, Finding]], place: Place
) -> Verdict:
    here = [findings[place] for findings in by_place]
    cautions = tuple(dict.fromkeys(c for each in here for c in each.cautions))
    return _combine(limit, [(each.status, [each]) for each in here], cautions)


def _combine(
    limit: Combination,
    members: list[tuple[Status, list[Finding]]],
    cautions: tuple[str, ...],
) -> Verdict:
    statuses = [s for s, _ in members if s is not Status.DOES_NOT_APPLY]
    decisive = Status.MET if limit.kind == "any_of" else Status.MISSED
    unanimous = Status.MISSED if limit.kind == "any_of" else Status.MET
    if not statuses:
        status = Status.DOES_NOT_APPLY
    elif decisive in statuses:
        status = decisive
    elif all(each is unanimous for each in statuses):
        status = unanimous
    else:
        status = Status.NOT_SHOWN
    deciding = [
        each for s, here in members if s is status for each in here if each.status is s
    ]
    shown = deciding or [each for _, here in members for each in here]
    settle = ""
    if status in (Status.MISSED, Status.NOT_SHOWN):
        settle = shown[0].would_settle
    return Verdict(
        status=status,
        cautions=cautions,
        why=_reasons(limit, status, shown, members),
        would_settle=settle,
    )


def _reasons(
    limit: Combination,
    status: Status,
    shown: list[Finding],
    members: list[tuple[Status, list[Finding]]],
) -> str:
    """Return the reason of the member that decides, and how many there are."""
    first, count = shown[0], len(members)
    if status is Status.DOES_NOT_APPLY:
        return first.why
    if limit.kind == "any_of":
        if status is Status.MET:
            asked = f" ({state(first.limit)})" if first.limit is not None else ""
            return f"{first.why} That is enough{asked}."
        some = "is met" if status is Status.MISSED else "is shown to be met"
        return f"None of {count} alternatives {some}; of the first: {first.why}"
    if status is Status.MET:
        return f"All {count} together are met; of the first: {first.why}"
    return f"All {count} are asked together, and one is {status.value}: {first.why}"
