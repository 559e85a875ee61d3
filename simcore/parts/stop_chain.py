r"""Stop chain: something notices the overload, a control decides, the drive is taken off.

What is sensed passes a filter, :math:`\tau\dot x = s - x`, and a threshold.  From the instant it is passed the
delays add up: sensor, control scan, output.  The control reads its inputs once a scan,

.. math:: t_{read} = \left\lceil\frac{t_n + t_{sensor}}{P} - \varphi\right\rceil P + \varphi P,

and writes its outputs ``scans`` - 1 scans later; ``scan_phase`` :math:`\varphi` is the share of a scan from t = 0
to its next read, which nobody knows: vary it.  Then the output (contactor, torque-off) takes its time and the action
begins, by stop category.  After power-on it is blind for a while, so that a start does not trip it; as it begins to
watch, the filter has settled.  Letting go is a switch: on or off.  The slip angle counts from where it was then.  The
speed lost is the share of the speed without load that the second place has lost against the first,

.. math:: s = \frac{\omega_1}{\omega_{1,0}} - \frac{\omega_2}{\omega_{2,0}}

What it has noticed it carries through, even if the power goes meanwhile.  A restart calls a stop off that ramps down,
holds or reverses, and the chain watches anew.

"Reverse, then off" turns the drive out of the jam: after a pause without power the command goes the other way, at a
share of the speed, until the power goes off.  With several attempts it goes forward again after the same pause, and the
chain watches as after a power-on; if it notices the same once more it reverses once more, and the last time the power
goes off.  While it pauses and reverses the chain watches nothing, and whoever else takes the power or the command away,
or gives another, ends it; the count of attempts begins anew when the drive is switched on anew.  A drive that is off or
runs backward already is taken off at once.

Sources: reaction time as a sum of delays, reversing out of a jam, common practice; stop categories, IEC 60204-1 (cited
from memory).
"""

from __future__ import annotations

from math import ceil, inf, isnan
from typing import Any

from simcore.contract import ENGAGED, FREE_SPEED_IN, FREE_SPEED_OUT, SIGNALS, WARMTH, Kind, Mode, Param, Q, State
from simcore.parts._command import commanded
from simcore.parts._given import or_else
from simcore.parts._stopping import (
    ACTION_OF_A_CHAIN,
    PAUSED,
    PERMIT,
    RAMP_AND_HOLD,
    REVERSE_THEN_OFF,
    REVERSING,
    STOPPING,
    WRITES,
    end_of_ramp,
    first_action,
    last_action,
    turn,
)

SENSES = ("letting go", "slip angle", "slip speed", "torque", "speed loss", "temperature rise")
LETTING_GO, SLIP_ANGLE, SLIP_SPEED, TORQUE, SPEED_LOSS, TEMPERATURE = range(6)
CODES = (
    SIGNALS.index("class"), SIGNALS.index("twist"), SIGNALS.index("slip speed"), SIGNALS.index("torque"),
    SIGNALS.index("speed in"), WARMTH,
)  # fmt: skip
PAST_THE_PEAK = 0.5
"""Class of a mode past which a ring that moves with the elements has left its place."""
INPUTS = ("", "angle", "slip", "torque", "loss", "rise")

(
    WHAT, LIMIT, TAU, BLANKING, SENSOR, SCAN, PHASE, SCANS, OUTPUT, ACTION, RAMP, BRAKES, VENTS, CUTS, PAUSE, BACK_FOR,
    BACK_SPEED, ATTEMPTS, FREE_IN, FREE_OUT,
) = range(20)  # fmt: skip
IDLE, BLIND, WATCHING, NOTICED, RAMPING, STOPPED, PAUSING, BACKWARD = range(8)
DUE, ZERO, REVERSED, AHEAD = range(4)
AT_ONCE = 1e-9
"""Share of the threshold at which it counts as passed: a torque that only just reaches it trips."""

KIND = Kind(
    name="stop chain",
    family="command",
    domain="any",
    hubs=0,
    summary="notices an overload and takes the drive off, or reverses it first: sensor, filter, scan, contactor, brake",
    params=(
        Param("senses", "choice", "what it notices: a protection that lets go (a switch at its ring), slip angle, "
              "slip speed, torque of the part watched (a motor's torque stands for its current), speed lost between "
              "two places, temperature rise", required=True, choices=SENSES),
        Param("angle", "angle", "slip angle past which it acts", above="0 deg", usual=("5 deg", "90 deg")),
        Param("slip", "speed", "slip speed past which it acts", above="0 rpm"),
        Param("torque", "torque", "torque past which it acts, at the shaft of the part watched", above="0 N*m"),
        Param("loss", "ratio", "share of the speed lost past which it acts", above=0, high=1, usual=(0.05, 0.5)),
        Param("rise", "temperature_difference", "temperature rise past which it acts", above="0 K"),
        Param("filter", "time", "time constant of the filter", default="0 s", low="0 s", usual=("0 s", "0.2 s"),
              source="no filter"),
        Param("blanking", "time", "time after each power-on in which it sees nothing", default="0 s", low="0 s",
              usual=("0 s", "5 s"), source="no blanking"),
        Param("sensor", "time", "delay of the sensor: a switch 1 ms, pulses of a slip watch up to two periods",
              default="2 ms", low="0 s", usual=("0.5 ms", "0.35 s"), source="proximity switch; common practice, "
              "from memory"),
        Param("scan", "time", "time of one control scan; 0: wired, no control", default="10 ms", low="0 s",
              usual=("5 ms", "50 ms"), source="common practice, from memory"),
        Param("scan_phase", "ratio", "share of a scan from the event to the next read, 0 to 1", default=0.5, low=0,
              high=1, source="middle; unknown by nature, vary it"),
        Param("scans", "count", "scans from reading to writing, one or two", default=2, low=1, high=10,
              source="the longer of one and two"),
        Param("output", "time", "from the control's output to the power off (contactor, torque-off)", default="20 ms",
              low="0 s", usual=("5 ms", "0.2 s"), source="contactor with AC coil; common practice, from memory"),
        ACTION_OF_A_CHAIN,
        *STOPPING,
        *REVERSING,
    ),
    row=("what", "limit", "filter", "blanking", "sensor", "scan", "phase", "scans", "output", "action", "ramp",
         "brakes", "vents", "cuts", "pause", "reverse_for", "reverse_speed", "attempts",
         FREE_SPEED_IN, FREE_SPEED_OUT),
    modes=(Mode("drive off", ENGAGED), Mode("blind", ENGAGED), Mode("watching", ENGAGED),
           Mode("noticed", ENGAGED), Mode("ramping down", ENGAGED), Mode("stopped", ENGAGED),
           Mode("pausing", ENGAGED), Mode("reversing", ENGAGED)),
    states=(State("filtered signal", "1", 1.0, "what is compared with the threshold"),),
    guards=("past the threshold", "past it the other way", "command"),
    memory=("due at", "zero of the slip angle", "times reversed", "command before it reversed"),
    reads=("command", "permit", "slow"),
    writes=(*WRITES, "command"),
    senses=("what is noticed", "speed behind"),
    cautions=("A stop chain protects the machine. Whether it protects people is for the risk assessment to say.",
              "A drive that reverses by itself is a hazard: nobody reaches in before it is isolated."),
    sources=("stop categories: IEC 60204-1 (cited from memory)", "delays, reversing: common practice"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    wanted = INPUTS[int(r.senses)]
    given = [n for n in INPUTS[1:] if not isnan(getattr(r, n))]
    out = []
    if wanted and wanted not in given:
        out.append(f"{wanted} is missing: the threshold of a chain that senses {SENSES[int(r.senses)]}")
    out += [f"{n} means nothing to a chain that senses {SENSES[int(r.senses)]}" for n in given if n != wanted]
    return out + _refuse_reversing(r)


def _refuse_reversing(r: Any) -> list[str]:
    action = ACTION_OF_A_CHAIN.choices[REVERSE_THEN_OFF]
    if r.action != REVERSE_THEN_OFF:
        given = [p.name for p in REVERSING if not isnan(getattr(r, p.name))]
        return [f'{n} belongs to action = "{action}"' for n in given]
    out = []
    if isnan(r.reverse_for):
        out.append(f'reverse_for is missing: how long the drive runs the other way with action = "{action}"')
    out += [f"{n} lets go of the load that is to be reversed: leave it out, or take another action"
            for n in ("vents", "cuts_coils") if getattr(r, n) > 0.5]  # fmt: skip
    return out


def signals(r: Any) -> tuple[int, int]:
    return CODES[int(r.senses)], SIGNALS.index("speed out")


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    limit = PAST_THE_PEAK
    if r.senses == SLIP_ANGLE:
        limit = r.angle
    elif r.senses == SLIP_SPEED:
        limit = r.slip
    elif r.senses == TORQUE:
        limit = r.torque
    elif r.senses == SPEED_LOSS:
        limit = r.loss
    elif r.senses == TEMPERATURE:
        limit = r.rise
    return (r.senses, limit, r.filter, r.blanking, r.sensor, r.scan, r.scan_phase, r.scans, r.output, r.action,
            r.ramp_time, r.brakes, r.vents, r.cuts_coils, or_else(r.reverse_pause, 0.0), or_else(r.reverse_for, 0.0),
            or_else(r.reverse_speed, 1.0), or_else(r.attempts, 1.0), 0.0, 0.0)  # fmt: skip


def start_mode(p: Any, sense: float) -> int:
    """In steady running it begins to watch with the situation, in the state that it then finds."""
    return BLIND if sense != 0.0 else IDLE


def _raw(q: Q, s: tuple[float, float]) -> float:
    """The sensed quantity before the filter."""
    if q.p[WHAT] == LETTING_GO:
        return 1.0 if s[0] > PAST_THE_PEAK else 0.0
    if q.p[WHAT] == SLIP_ANGLE:
        return s[0] - q.mem[ZERO]
    if q.p[WHAT] == SPEED_LOSS:
        if q.p[FREE_IN] == 0.0 or q.p[FREE_OUT] == 0.0:
            return 0.0
        return s[0] / q.p[FREE_IN] - s[1] / q.p[FREE_OUT]
    return s[0]


def _signal(q: Q, s: tuple[float, float]) -> float:
    return q.x[0] if q.p[TAU] > 0.0 else _raw(q, s)


def rate(q: Q, T: float, s: tuple[float, float]) -> tuple[float]:
    if q.p[TAU] <= 0.0 or q.m == IDLE or q.m == BLIND:
        return (0.0,)
    return ((_raw(q, s) - q.x[0]) / q.p[TAU],)


def _command_guard(q: Q) -> float:
    """> 0 while the commands agree with the mode: watching or stopping while the drive is on."""
    on = commanded(q.w[0]) * q.w[1] - 0.5
    if q.m == IDLE:
        return -on
    if q.m == NOTICED:
        return 1.0
    if q.m == PAUSING:
        return min(commanded(q.w[0]), 1.0 - ceil(abs(q.w[1] - PAUSED))) - 0.5
    if q.m == BACKWARD:
        return min(on, 0.5 - ceil(abs(q.w[0] + q.p[BACK_SPEED])))
    if q.m == RAMPING or (q.m == STOPPED and q.p[ACTION] == RAMP_AND_HOLD):
        return q.w[2] - 0.5
    return on


def guards(q: Q, T: float, s: tuple[float, float]) -> tuple[float, float, float]:
    on = _command_guard(q)
    if q.m != WATCHING:
        return 1.0, 1.0, on
    x = _signal(q, s) / q.p[LIMIT]
    return 1.0 - AT_ONCE - x, 1.0 - AT_ONCE + x, on


def clock(q: Q) -> float:
    return q.mem[DUE] if q.m == BLIND or NOTICED <= q.m <= RAMPING or q.m >= PAUSING else inf


def _due(q: Q) -> float:
    """Instant at which the action begins, if the threshold is passed now."""
    at = q.t + q.p[SENSOR]
    if q.p[SCAN] > 0.0:
        at = (ceil(at / q.p[SCAN] - q.p[PHASE] - 1e-9) + q.p[PHASE] + q.p[SCANS] - 1.0) * q.p[SCAN]
    return at + q.p[OUTPUT]


def _watch(q: Q, s: tuple[float, float], X: Any, M: Any) -> int:
    M[ZERO] = s[0]
    X[0] = _raw(q, s)
    return WATCHING


def _powered(q: Q, s: tuple[float, float], X: Any, M: Any) -> int:
    """The drive has been switched on: it watches, once it is blind no more."""
    if q.p[BLANKING] > 0.0:
        M[DUE] = q.t + q.p[BLANKING]
        return BLIND
    return _watch(q, s, X, M)


def switch(k: int, q: Q, T: float, s: tuple[float, float], X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == 2:
        if q.m != IDLE:
            return IDLE, 0.0
        M[REVERSED] = 0.0
        return _powered(q, s, X, M), 0.0
    if q.m == BLIND:
        return _watch(q, s, X, M), 0.0
    if q.m == WATCHING:
        M[DUE] = _due(q)
        return NOTICED, 0.0
    if q.m == NOTICED:
        return _act(q, M, O), 0.0
    if q.m == PAUSING:
        return (_forward(q, s, X, M, O) if q.w[0] < 0.0 else _reverse(q, M, O)), 0.0
    if q.m == BACKWARD and q.mem[REVERSED] < q.p[ATTEMPTS]:
        return (_pause(q, M, O) if q.p[PAUSE] > 0.0 else _forward(q, s, X, M, O)), 0.0
    if q.m == RAMPING:
        end_of_ramp(q.p[BRAKES], O)
    elif q.m == BACKWARD:
        last_action(q.p[BRAKES], O)
    return STOPPED, 0.0


def _act(q: Q, M: Any, O: Any) -> int:
    """The output has switched: the first action."""
    if q.p[ACTION] == REVERSE_THEN_OFF:
        if q.w[0] <= 0.0 or q.w[1] < 0.5:
            last_action(q.p[BRAKES], O)
            return STOPPED
        return _pause(q, M, O) if q.p[PAUSE] > 0.0 else _reverse(q, M, O)
    if first_action(q.p[ACTION], q.p[BRAKES], q.p[VENTS], q.p[CUTS], O):
        M[DUE] = q.t + q.p[RAMP]
        return RAMPING
    return STOPPED


def _pause(q: Q, M: Any, O: Any) -> int:
    O[PERMIT] = PAUSED
    M[DUE] = q.t + q.p[PAUSE]
    return PAUSING


def _reverse(q: Q, M: Any, O: Any) -> int:
    turn(-q.p[BACK_SPEED], O)
    M[REVERSED] = q.mem[REVERSED] + 1.0
    M[AHEAD] = q.w[0]
    M[DUE] = q.t + q.p[BACK_FOR]
    return BACKWARD


def _forward(q: Q, s: tuple[float, float], X: Any, M: Any, O: Any) -> int:
    turn(q.mem[AHEAD], O)
    return _powered(q, s, X, M)


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    scan = p[SCAN]
    return {
        "shortest reaction": (p[SENSOR] + (p[SCANS] - 1.0) * scan + p[OUTPUT], "time"),
        "longest reaction": (p[SENSOR] + p[SCANS] * scan + p[OUTPUT], "time"),
    }
