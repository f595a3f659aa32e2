"""What travels when charts are asked for. A chart that cannot be drawn is null, and `none` says why."""

from msgspec import Struct

from chinrest.model.rates.attribute_charts import AttributeChart
from chinrest.model.rates.cusum import CusumPlan
from chinrest.model.rates.funnel import FunnelLimits, FunnelPoint
from chinrest.model.rates.gchart import GChart
from chinrest.model.rates.tchart import TChart
from chinrest.server.rates_wire import RateOf


class FunnelSite(Struct, frozen=True, kw_only=True):
    site: str
    point: FunnelPoint


class Funnel(Struct, frozen=True, kw_only=True):
    """`target`: all sites together, as a proportion. `curve`: the limits over the range of procedures.
    `false_flag`: the chance that at least one site lies outside the 95 % limits though all are alike."""

    target: float
    sites: list[FunnelSite]
    curve: list[FunnelLimits]
    false_flag: float


class Monthly(Struct, frozen=True, kw_only=True):
    """`months` with `events` and `procedures` of each, in the order of the chart's points. `unfinished`:
    the last month still runs."""

    months: list[str]
    events: list[int]
    procedures: list[int]
    chart: AttributeChart
    unfinished: bool


class Gaps(Struct, frozen=True, kw_only=True):
    """`ends`: when the event came that ends each gap (ms, by the opening of its case)."""

    ends: list[int]
    cases: GChart
    days: TChart


class Cusum(Struct, frozen=True, kw_only=True):
    """`points`: [procedure, highest sum in its stretch], from 1; stretches keep a long path small. `signals`:
    procedures at which the threshold was reached."""

    plan: CusumPlan
    procedures: int
    points: list[tuple[int, float]]
    signals: list[int]


class ChartReport(Struct, frozen=True, kw_only=True):
    """`none`: chart name to why it can't be drawn."""

    of: RateOf
    definition: str
    rules: list[str]
    funnel: Funnel | None
    monthly: Monthly | None
    gaps: Gaps | None
    cusum: Cusum | None
    none: dict[str, str]
    position: int
    first: str | None
    last: str | None
    site: str | None
