"""The demo's protocols beside published phase times (fixtures/reference/phases.toml names each source)."""

from typing import Any

import pytest
from published_values import published
from series_cases import PACE, PROTOCOLS

from chinrest.model.series.protocol import ProtocolWindow

PHASES = published("phases")


def phases(dye: str, phase: str) -> list[dict[str, Any]]:
    return [row for row in PHASES[dye] if row["phase"] == phase]


def window(protocol: str, name: str) -> ProtocolWindow:
    return next(window for window in PROTOCOLS[protocol].windows if window.id == name)


@pytest.mark.parametrize("protocol", ["fluorescein", "both"])
def test_the_transit_burst_holds_every_published_moment_of_the_transit(protocol: str) -> None:
    """By the earliest source it begins with the first dye; by the latest it goes on past the peak, and past
    the slowest arrival (30 s, the monograph) with a capillary transit (2 to 5 s) after it."""
    burst = window(protocol, "transit")
    assert burst.burst
    assert burst.eye == "study"
    assert burst.from_s <= min(row["from_s"] for row in PHASES["fluorescein"])
    arrival = max(row["to_s"] for row in phases("fluorescein", "first dye in retina and choroid"))
    assert burst.to_s >= arrival + 5
    assert burst.to_s >= max(row["to_s"] for row in phases("fluorescein", "peak"))
    assert burst.to_s >= max(row["to_s"] for row in phases("fluorescein", "veins full"))


@pytest.mark.parametrize("protocol", ["fluorescein", "both"])
def test_mid_frames_lie_in_recirculation_and_late_ones_about_ten_minutes(protocol: str) -> None:
    (recirculation,) = phases("fluorescein", "recirculation")
    mid = window(protocol, "mid")
    assert (mid.from_s, mid.to_s) == (recirculation["from_s"], recirculation["to_s"])
    (late,) = phases("fluorescein", "late")
    assert window(protocol, "late").from_s < late["from_s"] < window(protocol, "late").to_s
    assert window(protocol, "late").to_s <= 15 * 60, "the latest that any of the sources says"


@pytest.mark.parametrize(("protocol", "prefix"), [("indocyanine_green", ""), ("both", "icg_")])
def test_indocyanine_green_windows_lie_in_its_phases(protocol: str, prefix: str) -> None:
    early, middle, late = (window(protocol, prefix + name) for name in ("early", "middle", "late"))
    (arrival,) = phases("indocyanine_green", "arm to eye")
    assert early.burst
    assert early.from_s < arrival["from_s"]
    assert early.to_s > arrival["to_s"]
    (phase,) = phases("indocyanine_green", "early")
    assert early.to_s <= phase["to_s"]
    (phase,) = phases("indocyanine_green", "middle")
    assert phase["from_s"] <= middle.from_s
    assert middle.to_s <= phase["to_s"]
    (phase,) = phases("indocyanine_green", "late")
    assert late.from_s <= phase["from_s"]
    assert late.to_s >= phase["to_s"]


def test_with_two_dyes_the_order_is_the_published_one_and_the_runs_do_not_meet() -> None:
    """The second dye cannot arrive before the early run of the first is over: by the earliest source, 7 s."""
    protocol = PROTOCOLS["both"]
    assert [injection.dye for injection in protocol.dyes] == PHASES["two_dyes"]["order"]
    first, second = protocol.dyes
    earliest = min(row["from_s"] for row in PHASES["fluorescein"])
    assert second.after_s + earliest >= first.after_s + window("both", "icg_early").to_s


def test_a_frames_seconds_are_those_of_the_standards_example() -> None:
    """DICOM PS3.17, Annex U.1.3: 3 to 5 s between pairs; 20 pairs take 71 to 109 s, recomputed."""
    pairs = PHASES["pairs"]
    least, most = pairs["between_s"]
    assert least <= PACE.frame_s <= most
    run = [(pairs["count"] - 1) * between + pairs["count"] * pairs["within_s"] for between in (least, most)]
    assert run == pytest.approx([71, 109])


def test_every_window_says_where_it_comes_from() -> None:
    for protocol in PROTOCOLS.values():
        for one in protocol.windows:
            assert one.source.strip(), (protocol.id, one.id)
