"""Readings asked of Modbus RTU devices on a serial line, through pymodbus (the extra ``holdwater[modbus]``)."""

from contextlib import closing
from typing import Any

from monitor.feeds.feed import ITSELF, FeedStatus, Trouble
from monitor.feeds.inbox import Inbox
from monitor.feeds.intake import Intake
from monitor.feeds.serial_port import LOST, open_port, trouble_with
from monitor.readings import Record
from monitor.rig import feed_tables as tables
from monitor.rig.map_tables import RegisterTable
from monitor.wire.mapped import BOOL, number_record
from monitor.wire.registers import count, number
from monitor.wire.rejected import Rejected
from monitor.worker import Hire, Steps, Thread

ANSWER_S = 0.5
AGAIN_S = 2.0
NOT_THERE = Trouble(
    "Modbus needs the package pymodbus, which is not installed.",
    'Install it with: pip install "holdwater[modbus]"; then start the daemon again.',
)


class ModbusFeed:
    """Asks every device for its registers in turn, and opens the port again for as long as it takes when it is lost."""

    def __init__(self, name: str, settings: tables.ModbusFeed, hire: Hire = Thread) -> None:
        self.name = name
        self.settings = settings
        self._intake = Intake(name)
        self._worker = hire(name, self._asks)

    def start(self, inbox: Inbox) -> None:
        self._intake.open(inbox, Trouble(f"The serial port {self.settings.port} is being opened.", ITSELF))
        self._worker.start()

    def status(self) -> FeedStatus:
        return self._intake.status()

    def close(self) -> None:
        self._intake.close()
        self._worker.close(4 * ANSWER_S)

    def _asks(self) -> Steps:
        try:
            from pymodbus.client import ModbusSerialClient
        except ImportError:
            self._intake.trouble = NOT_THERE
            return
        while True:
            line: Any = ModbusSerialClient(
                self.settings.port, baudrate=self.settings.baud, parity=self.settings.parity[0].upper(),
                timeout=ANSWER_S, retries=0,
            )  # fmt: skip
            try:
                with closing(line):
                    yield from self._round_and_round(line)
            except LOST as fault:
                self._intake.trouble = trouble_with(self.settings.port, fault)
            yield AGAIN_S

    def _round_and_round(self, line: Any) -> Steps:
        """Until the port is lost. A failure to open it is the port's own, which pymodbus would only log."""
        with open_port(self.settings.port, self.settings.baud):
            pass
        while line.connect():
            silent: set[int] = set()
            for register in self.settings.registers:
                if register.device not in silent and not self._ask(line, register):
                    silent.add(register.device)
                yield 0.0
            self._intake.trouble = self._silence(silent)
            yield self.settings.every_s
        raise OSError("it could not be opened")

    def _silence(self, silent: set[int]) -> Trouble | None:
        if not silent:
            return None
        who = " and ".join(f"device {device}" for device in sorted(silent))
        return Trouble(
            f"No answer from {who} on {self.settings.port}.",
            f"Check its supply, the two wires A and B, its address, and baud and parity. {ITSELF}",
        )

    def _ask(self, line: Any, register: RegisterTable) -> bool:
        """False where the device did not answer."""
        from pymodbus.exceptions import ConnectionException, ModbusException

        try:
            answer = _question(line, register)
        except ConnectionException as gone:
            raise OSError(str(gone)) from None
        except ModbusException:
            return False
        try:
            self._intake.records([_record(answer, register)])
        except Rejected as refused:
            self._intake.reject(refused.kind, refused.why, str(answer))
        return True


def _question(line: Any, register: RegisterTable) -> Any:
    ask = {
        "holding": line.read_holding_registers, "input": line.read_input_registers,
        "coil": line.read_coils, "discrete": line.read_discrete_inputs,
    }[register.table]  # fmt: skip
    return ask(register.address, count=1 if register.unit == BOOL else count(register.form), device_id=register.device)


def _record(answer: Any, register: RegisterTable) -> Record:
    """The reading in an answer. Raises Rejected."""
    where = f"Device {register.device}, asked for {register.table} {register.address} ({register.reading}),"
    if answer.isError():
        code = getattr(answer, "exception_code", None)
        raise Rejected("modbus", f"{where} refused it (exception {code}); are table and address the maker's?")
    if register.unit == BOOL:
        if not answer.bits:
            raise Rejected("modbus", f"{where} answered with no bit.")
        return Record(register.reading, BOOL, bool(answer.bits[0]))
    try:
        found = number(answer.registers, register.form, register.low_word_first)
    except ValueError as wrong:
        raise Rejected("modbus", f"{where} answered with other registers: {wrong}.") from None
    return number_record(found, register.mapping)
