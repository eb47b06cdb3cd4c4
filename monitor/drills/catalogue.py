"""The drills. Their worlds are the scenarios of these names, their words the practice page's."""

from monitor.drills.attempt import Drill, Goal, Log, Met, first, never, within

ANSWER_S = 120.0  # of the simulated day, which runs faster than life: a hand has some forty seconds
LET_GO_S = 150.0
FIND_S = 360.0
LINE_S = 9.0  # 150 ft of 3/8 in at 6 gpm hold 8.6 s of flow: geometry
GUNS = ("release-front", "release-back", "stop-front", "stop-back", "open-front", "open-back")
LET_GO = tuple(f"did:{hand}" for hand in GUNS[:4])
CHECKS = ("trigger", "nozzle", "valve", "tank", "strainer", "ball")
LOOKS = tuple(f"did:look-{check}" for check in CHECKS)
OPENS = ("did:look-strainer", "did:look-ball")


def _let_go(log: Log, now: float) -> Met:
    """A trigger was let go of soon after the first alarm."""
    called, done = first(log, "alarm:dry-soon", "alarm:supply-lost", "alarm:water-low"), first(log, *LET_GO)
    if called is None:
        return None if done is None else True
    if done is not None:
        return done - called <= LET_GO_S
    return False if now - called > LET_GO_S else None


def _waited(log: Log, now: float) -> Met:
    """Soap was said at the page, and the line had its time before anything was looked at."""
    told, looked = first(log, "did:soaping"), first(log, *LOOKS)
    return None if looked is None else told is not None and looked - told >= LINE_S


def _pointed(log: Log, now: float) -> Met:
    """The first look went where the page pointed: the trigger, which costs nothing, or the nozzle."""
    return next((what in LOOKS[:2] for _, what in log if what in LOOKS), None)


def _safely(log: Log, now: float) -> Met:
    """Engine off and pressure out before anything was opened; who opened nothing was safe."""
    opened, safe = first(log, *OPENS), first(log, "did:make-safe")
    return None if opened is None else safe is not None and safe <= opened


KINKED = Drill(
    "kinked-tap", "drill-kinked-tap", (*GUNS, "walk-tap"),
    (
        Goal("answered", 2, within("did:got-it", ANSWER_S, "alarm:supply-lost", "alarm:dry-soon")),
        Goal("let_go", 3, _let_go),
        Goal("found_kink", 3, within("did:walk-tap", FIND_S, "alarm:supply-lost", "alarm:dry-soon")),
        Goal("never_dry", 2, never("alarm:dry")),
    ),
    "did:walk-tap",
)  # fmt: skip
TWO_GUNS = Drill(
    "two-guns", "drill-two-guns", GUNS,
    (
        Goal("answered", 2, within("did:got-it", ANSWER_S, "alarm:dry-soon", "alarm:water-low")),
        Goal("let_go", 3, _let_go),
        Goal("never_dry", 3, never("alarm:dry")),
        Goal("never_hot", 2, never("alarm:bypass-hot")),
    ),
    "did:both-shut", after_s=200.0,
)  # fmt: skip
NO_SOAP = Drill(
    "no-soap", "drill-no-soap", ("make-safe", *(f"look-{check}" for check in CHECKS)),
    (
        Goal("waited", 2, _waited),
        Goal("pointed", 3, _pointed),
        Goal("never_opened", 2, _safely),
        Goal("found_soap", 3, within("did:look-nozzle", FIND_S, "did:soaping")),
    ),
    "did:look-nozzle", after_s=5.0,
)  # fmt: skip
DRILLS = {drill.name: drill for drill in (KINKED, TWO_GUNS, NO_SOAP)}
