"""Who may do what, as two tables: a rule for every route, and one for every act.

A route or an act without a rule is the owner's alone, and a test fails until its rule stands here.
"""

from typing import Literal, TypeAlias

from starlette.routing import compile_path

Role: TypeAlias = Literal["crew", "owner"]
Rule: TypeAlias = Literal["anyone", "crew", "owner"]
"""The least that is asked for. The crew looks, acknowledges, shelves and notes; the owner may do all."""

ROLES: dict[str, Rule] = {
    "GET /healthz": "anyone",
    "GET /pair": "anyone",
    "GET /pair/{file}": "anyone",
    "POST /pair": "anyone",
    "GET /": "crew",
    "GET /gallery": "crew",
    "GET /static/{path:path}": "crew",
    "GET /openapi.json": "crew",
    "GET /api/state": "crew",
    "GET /api/live": "crew",
    "GET /api/past": "crew",
    "GET /history": "crew",
    "GET /api/history": "crew",
    "GET /api/history/signals": "crew",
    "GET /api/words/{language}": "crew",
    "GET /api/ways": "crew",
    "POST /api/act": "crew",
    "GET /plan": "crew",
    "GET /api/plan": "crew",
    "GET /chemical": "crew",
    "GET /books": "crew",
    "GET /sites": "crew",
    "GET /api/books": "crew",
    "GET /api/books/job": "crew",
    "GET /api/books/days.csv": "owner",
    "GET /api/books/jobs.csv": "owner",
    "GET /api/sites": "crew",
    "GET /api/sites/jobs": "crew",
    "GET /practice": "crew",
    "GET /api/practice": "crew",
    "POST /api/practice/begin": "crew",
    "POST /api/practice/do": "crew",
    "GET /alarms": "crew",
    "GET /api/alarms/catalogue": "crew",
    "GET /api/alarms/record": "crew",
    "GET /metrics": "owner",
    "GET /owner": "owner",
    "GET /api/owner": "owner",
    "POST /api/owner/calibrate": "owner",
    "GET /bench": "owner",
    "GET /api/bench": "owner",
    "POST /api/bench/fault": "owner",
    "POST /api/bench/hand": "owner",
    "POST /api/bench/speed": "owner",
}

ACTS: dict[str, Role] = {
    "acknowledge": "crew",
    "shelve": "crew",
    "unshelve": "crew",
    "packing-up": "crew",
    "new-place": "crew",
    "start-job": "crew",
    "finish-job": "crew",
    "filling-past-meter": "crew",
    "dumping": "crew",
    "it-stands-here": "crew",
    "rinsing": "crew",
    "soaping": "crew",
    "hose-added": "crew",
    "drew-down": "crew",
    "chemical-filled": "crew",
    "reset-permit": "crew",
    "out-of-service": "owner",
    "test-horn": "owner",
    "laid-up": "owner",
    "serviced": "owner",
}

_PATTERNS = [(route.partition(" ")[0], compile_path(route.partition(" ")[2])[0], rule) for route, rule in ROLES.items()]


def rule_of(method: str, path: str) -> Rule:
    """What a request asks for; HEAD is a GET without its body."""
    asked = "GET" if method == "HEAD" else method
    return next((rule for of, pattern, rule in _PATTERNS if of == asked and pattern.fullmatch(path)), "owner")


def may(role: Role | None, rule: Rule) -> bool:
    """Whether a device of that role, None for one that is not paired, satisfies the rule."""
    return rule == "anyone" or role == "owner" or role == rule


def may_act(role: Role, act: str) -> bool:
    return may(role, ACTS.get(act, "owner"))
