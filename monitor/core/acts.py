"""What people do: each act taken in, or refused with what to do instead."""

from collections.abc import Callable

from monitor.alarms.board import Board
from monitor.alarms.refusals import Refused
from monitor.balance.balance import Balance
from monitor.changes import AlarmChange, Change
from monitor.core.calibrating import Calibrating
from monitor.core.intake import Intake
from monitor.core.jobs import ACTS as ON_JOBS
from monitor.core.jobs import Jobs
from monitor.core.judge import Judge
from monitor.core.servicing import Servicing
from monitor.core.soaping import ON_SOAP, Soaping
from monitor.readings import Act

PAST_METER_S = 600.0  # one touch says so for ten minutes
DUMPING_S = 600.0
ON_ALARMS = frozenset({"acknowledge", "shelve", "unshelve", "out-of-service"})
LOOKED_SD = 0.02  # of capacity: how well a person reads a tank


class Acts:
    """Takes in acts. Raises Refused (from the board) for what may not be done."""

    def __init__(
        self,
        balance: Balance,
        intake: Intake,
        judge: Judge,
        calibrating: Calibrating,
        jobs: Jobs,
        servicing: Servicing,
        soaping: Soaping,
        board: Callable[[], Board],
        wall: Callable[[float], float],
    ) -> None:
        self.balance, self.intake, self.judge, self.board = balance, intake, judge, board
        self.calibrating, self.jobs, self.servicing = calibrating, jobs, servicing
        self.soaping, self.wall = soaping, wall

    def check(self, act: Act) -> None:
        """Raises Refused for an act that would be refused, and changes nothing."""
        detail = act.detail or {}
        if act.act in ON_ALARMS:
            copy = Board.restored(self.board().save(), self.board().language)
            self._alarm(act, detail, copy)
        elif act.act == "it-stands-here":
            self._volume_l(detail)
        elif act.act in ON_JOBS and (why_not := self.jobs.check(act.act)) is not None:
            raise Refused(why_not, "")
        elif act.act == "serviced" and not self.servicing.knows(detail.get("service")):
            raise Refused("no service", "")
        elif act.act in ON_SOAP and not self.soaping.check(act.act, detail):
            raise Refused("not understood", "")
        elif act.act == "calibrate" and (why := self.calibrating.check(detail)) is not None:
            raise Refused("calibration", why)

    def take(self, act: Act) -> list[Change]:
        detail = act.detail or {}
        if act.act in ON_JOBS:
            return self._job(act)
        if act.act in ON_ALARMS:
            return [*self._alarm(act, detail, self.board())]
        if act.act in ON_SOAP:
            self.check(act)
            self.soaping.take(act.act, detail, act.at)
            return []
        on = bool(detail.get("on", True))
        if act.act == "packing-up":
            self.judge.packing_up = on
            self.soaping.rest(act.at)
        elif act.act == "laid-up":
            self.judge.laid_up = on
        elif act.act == "new-place":
            self._new_place(act.at)
            self.jobs.arrive(str(detail.get("site") or ""), self.wall(act.at))
        elif act.act == "filling-past-meter":
            self.judge.verdicts.filling_until = act.at + PAST_METER_S if on else act.at
            if on and self.balance.filter is not None:
                self.balance.filter.doubt_unmetered(20.0)
        elif act.act == "dumping":
            self.judge.verdicts.dumping_until = act.at + DUMPING_S if on else act.at
            if on and self.balance.filter is not None:
                self.balance.filter.doubt_unmetered(40.0)
        elif act.act == "it-stands-here":
            self._stands(self._volume_l(detail))
        elif act.act == "serviced":
            self.check(act)
            self.servicing.did(str(detail["service"]), self.wall(act.at))
        elif act.act == "journal":
            self.judge.journal_ok = bool(detail.get("ok"))
        return []

    def _alarm(self, act: Act, detail: dict[str, object], board: Board) -> list[AlarmChange]:
        alarm = act.alarm or ""
        subject = next((str(detail[k]) for k in ("pump", "signal", "node") if detail.get(k)), None)
        if act.act == "acknowledge":
            return board.acknowledge(act.at, alarm, subject, act.by)
        if act.act == "unshelve":
            return board.unshelve(act.at, alarm, subject, act.by)
        if act.act == "out-of-service":
            return board.take_out_of_service(act.at, alarm, bool(detail.get("on", True)), subject, act.by)
        minutes = detail.get("minutes")
        return board.shelve(act.at, alarm, 60.0 * float(str(minutes or 0.0)), subject, act.by)

    def _job(self, act: Act) -> list[Change]:
        self.check(act)
        wall = self.wall(act.at)
        if act.act == "finish-job":
            return self.jobs.finish(act, wall)
        self.jobs.start(act, wall)
        return []

    def _new_place(self, at: float) -> None:
        self.judge.packing_up = False
        self.judge.forget_place()
        self.balance.tap.new_place()
        self.soaping.rest(at)

    def _volume_l(self, detail: dict[str, object]) -> float:
        """The volume a person read on the tank. Raises Refused where none was said that the tank could hold."""
        try:
            volume_l = float(str(detail.get("volume_l")))
        except ValueError:
            raise Refused("no volume", "") from None
        if not 0.0 <= volume_l <= self.balance.tank.capacity_l:
            raise Refused("no volume", "")
        return volume_l

    def _stands(self, volume_l: float) -> None:
        sd_l = max(2.0, LOOKED_SD * self.balance.tank.capacity_l)
        self.balance.told(volume_l, sd_l)
