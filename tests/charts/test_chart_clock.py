"""Charts of a crash that begins with a start: they count from the contact, and say what zero is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from chart_samples import result_set

from simcore.charts.crash_data import crash_data
from simcore.charts.energy_data import energy_data
from simcore.charts.instants_data import BEFORE, instants_data, told
from simcore.charts.motion_data import motion_data
from simcore.parts import REGISTRY
from simcore.results.contact import JAMS, jam_in
from simcore.results.model import Event, ResultSet, Run
from simcore.screen.reading import caption

JAM, AT = "tray jams", 0.9


def begun(run: Run) -> Run:
    """The run behind a start: all of it comes later by AT, and the jam is the second event."""
    where = {JAM: "2: hard stop"}
    conns = tuple(replace(c, name=where.get(c.name, c.name)) for c in run.connections)
    events = tuple(e._replace(time=e.time + AT) for e in run.events)
    measures = {n: v + AT for n, v in run.measures.items()}
    return replace(
        run, event="start", connections=conns, time=run.time + AT, peak_time=run.peak_time + AT, measures=measures,
        events=(Event(AT, "2: hard stop", "not there yet", "touching"), *events),
    )  # fmt: skip


def late_set(n: int = 3) -> tuple[ResultSet, ResultSet]:
    """A crash that begins with its contact, and the same behind a start."""
    plain = result_set(n)
    late = {k: begun(r) if k[1] == JAM else r for k, r in plain.runs.items()}
    answers = tuple(replace(a, trigger=a.trigger + AT, lets_go=a.lets_go + AT, disconnect=a.disconnect + AT)
                    for a in plain.answers)  # fmt: skip
    return plain, replace(plain, runs=late, answers=answers)


def test_charts_count_from_the_contact_behind_a_start():
    plain, late = late_set()
    for data in (motion_data, crash_data, instants_data):
        assert data(late).frame.title == data(plain).frame.title
        assert data(late).zero == "contact"
    for a, b in zip(instants_data(late).rows, instants_data(plain).rows, strict=True):
        assert a[2:7] == pytest.approx(b[2:7], nan_ok=True)
    assert crash_data(late).curves[0].trigger.time == pytest.approx(crash_data(plain).curves[0].trigger.time)
    assert crash_data(late).short_end == pytest.approx(crash_data(plain).short_end)


def test_the_long_view_shows_what_came_before_the_contact():
    plain, late = late_set()
    assert crash_data(plain).long_start == crash_data(plain).start
    assert crash_data(late).long_start == pytest.approx(crash_data(late).start - 1e3 * AT)


def test_what_goes_in_the_start_went_before_the_contact():
    _, late = late_set(1)
    (key, run), *_ = ((k, r) for k, r in late.runs.items() if k[1] == JAM)
    early = {**run.measures, "trigger": 0.4, "lets_go": 0.5, "disconnect": np.nan}
    data = instants_data(replace(late, runs={**late.runs, key: replace(run, measures=early)}))
    assert [told(data.rows[0], k) for k in ("trigger", "lets_go")] == [BEFORE, BEFORE]
    assert "before contact already" in data.frame.title


def test_without_a_jam_the_first_event_is_named():
    plain = result_set(3)
    runs = {k: replace(r, event="emergency stop", connections=r.connections[:-1]) for k, r in plain.runs.items()}
    alone = replace(plain, runs=runs)
    assert " after the emergency stop the motor side" in motion_data(alone).frame.title
    assert instants_data(alone).zero == crash_data(alone).zero == "the emergency stop"
    assert "from the emergency stop to the end of the run" in energy_data(alone).frame.subtitle


def test_energy_counts_from_the_first_event():
    plain, late = late_set()
    assert "from contact to the end" in energy_data(plain).frame.subtitle
    assert "from the start to the end" in energy_data(late).frame.subtitle


def test_the_screen_says_what_times_count_from():
    plain, late = late_set()
    assert jam_in(late, JAM) == ("hard stop", AT)
    assert "count from" not in caption(plain)
    assert "Times count from the start; the hard stop comes at 900 ms." in caption(late)


def test_jams_are_the_events_that_do_not_ask_to_hold():
    events = {n: p.kind for n, p in REGISTRY.items() if p.kind.family == "event"}
    assert {n for n, k in events.items() if k.expect != "hold"} == JAMS
