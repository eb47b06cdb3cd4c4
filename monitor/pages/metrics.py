"""``/metrics``: the daemon in figures, as OpenMetrics text, for a program that gathers such.

The extra ``holdwater[metrics]`` brings the library that writes the format; without it the page says so.
"""

from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import TYPE_CHECKING, Any, Protocol

from fastapi import APIRouter
from fastapi.responses import JSONResponse, Response

if TYPE_CHECKING:
    from prometheus_client.metrics_core import Metric

HINT = {"error": "this installation writes no metrics", "do": "install holdwater[metrics], then restart the daemon"}


class MeasuredDesk(Protocol):
    """What the figures are made of."""

    def state(self) -> dict[str, Any]: ...
    def lag_s(self) -> float: ...


def metrics_routes(desk: MeasuredDesk) -> APIRouter:
    router = APIRouter()
    with suppress(ImportError):  # now, not while something is to be decided
        import prometheus_client.openmetrics.exposition  # noqa: F401

    @router.get("/metrics")
    async def metrics() -> Response:
        """Readings, rejects, what was dropped, alarms, volume, journal, feeds and lag, as OpenMetrics."""
        try:
            return _written(lambda: families(desk.state(), desk.lag_s()))
        except ImportError:
            return JSONResponse(HINT, 404)

    return router


def _written(collected: Callable[[], Iterator["Metric"]]) -> Response:
    """Raises ImportError without the extra. The registry is this answer's own; nothing else is in it."""
    from prometheus_client import CollectorRegistry
    from prometheus_client.openmetrics.exposition import CONTENT_TYPE_LATEST, generate_latest
    from prometheus_client.registry import Collector

    class Now(Collector):
        def collect(self) -> Iterator["Metric"]:
            return collected()

    registry = CollectorRegistry()
    registry.register(Now())
    text: bytes = generate_latest(registry)  # type: ignore[no-untyped-call]
    return Response(text, headers={"content-type": CONTENT_TYPE_LATEST})


def families(state: dict[str, Any], lag_s: float) -> Iterator["Metric"]:
    """One family for each thing counted. A figure that is not known is left out: it is not nought."""
    forecast, journal = state["forecast"], state["journal"]
    yield _counted("readings", "Readings heard, by signal", "signal",
                   {each["name"]: each["count"] for each in state["signals"]})  # fmt: skip
    yield _counted("rejects", "What came in and was not understood, by kind", "kind", state["rejects"]["by_kind"])
    yield _counted("dropped", "Arrivals let go because too many came, and rows the journal could not keep", "where",
                   {"inbox": state["dropped"], "journal": journal["dropped"]})  # fmt: skip
    yield _alarms(state["alarms"])
    yield _gauge("volume_litres", "Water in the tank", forecast["volume_l"])
    yield _gauge("volume_sd_litres", "Standard deviation of that volume", forecast["volume_sd_l"])
    yield _gauge("journal_ok", "1 where the journal is written", journal["ok"])
    yield _gauge("journal_waiting", "Rows that wait to be written", journal["waiting"])
    yield _of_each("feed_ok", "1 where a feed hears", "feed", {each["name"]: each["ok"] for each in state["feeds"]})
    yield _gauge("decisions_lag_seconds", "Since all that had come was decided", lag_s)


def _gauge(name: str, told: str, value: float | None) -> "Metric":
    from prometheus_client.metrics_core import GaugeMetricFamily

    return GaugeMetricFamily(f"holdwater_{name}", told, None if value is None else float(value))


def _of_each(name: str, told: str, label: str, values: dict[str, float]) -> "Metric":
    from prometheus_client.metrics_core import GaugeMetricFamily

    family = GaugeMetricFamily(f"holdwater_{name}", told, labels=[label])
    for of, value in values.items():
        family.add_metric([of], float(value))
    return family


def _counted(name: str, told: str, label: str, counts: dict[str, int]) -> "Metric":
    from prometheus_client.metrics_core import CounterMetricFamily

    family = CounterMetricFamily(f"holdwater_{name}", told, labels=[label])
    for of, count in counts.items():
        family.add_metric([of], count)
    return family


def _alarms(alarms: list[dict[str, Any]]) -> "Metric":
    from prometheus_client.metrics_core import GaugeMetricFamily

    family = GaugeMetricFamily("holdwater_alarm", "Alarms that stand", labels=["alarm", "subject", "state"])
    for each in alarms:
        family.add_metric([each["alarm"], each["pump"] or each["signal"] or each["node"] or "", each["state"]], 1.0)
    return family
