"""Laws of every part at random states: no energy out of nothing, mirror, no jump within a mode."""

from __future__ import annotations

from dataclasses import replace
from math import copysign, inf

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from states import IDS, NEEDED, REGISTRY, TAB, VARIANTS, torque
from states import row as made_row
from states import state as made_state

from simcore.parts import _pins as pn

unit = st.floats(-1.0, 1.0, allow_nan=False)
PASSIVE = [(v, i) for v, i in zip(VARIANTS, IDS, strict=True) if REGISTRY[v[0]].kind.family != "drive"]
LAWFUL = [(v, i) for v, i in PASSIVE if REGISTRY[v[0]].has("torque")]
over_laws = pytest.mark.parametrize(("kind", "raw"), [v for v, _ in LAWFUL], ids=[i for _, i in LAWFUL])
EXAMPLES = [50, pytest.param(150, marks=pytest.mark.slow)]
"""Random states of each kind and variant."""


def at_random(**drawn):
    """A law of (kind, raw, what is drawn), held at each number of EXAMPLES."""

    def decorate(law):
        @pytest.mark.parametrize("examples", EXAMPLES)
        def test(kind, raw, examples):
            often = settings(max_examples=examples, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])

            @often
            @given(**drawn)
            def one(**values):
                law(kind, raw, **values)

            one()

        test.__name__, test.__doc__ = law.__name__, law.__doc__
        return test

    return decorate


ROWS: dict[tuple[str, int], tuple[float, ...]] = {}


def row(part, raw):
    """Row of a variant, made once: the variants live as long as this file."""
    key = (part.kind.name, id(raw))
    if key not in ROWS:
        ROWS[key] = made_row(part, raw)
    return ROWS[key]


def state(part, p, mode, phi=0.0, nu=0.0, x=(), **more):
    """As states.state; pins remember that they twist the way they do, else only broken ones agree with their guards."""
    q = made_state(part, p, mode, phi, nu, x, **more)
    if part.kind.name == "shear pins":
        q.mem[pn.DIRECTION] = copysign(1.0, nu)
    return q


DETENTS = ("ball detent", "roller detent")
TWIST = {"friction disc": 0.012, "shear pins": 0.0035, "ball detent": 0.01, "roller detent": 0.01, "magnet disc": 1.2,
         "notched-wheel pawl": 0.01, "tipping sprag": 0.06, "magnetic particle clutch": 0.012,
         "flat belt": 0.012, "V-belt": 0.02, "slipping belt": 0.08}  # fmt: skip
"""Twist of a protection at which something happens; of other parts 0.02."""
EVEN = {
    "friction disc": (1, 2, 3, 4, 5), "shear pins": (1, 2), "magnet disc": (0, 1, 2), "eddy-current clutch": (0, 1, 2),
    "notched-wheel pawl": (1,), "magnetic particle clutch": (1, 2, 3), "magnetic hysteresis clutch": (0, 1, 2, 3, 4),
    **dict.fromkeys(("flat belt", "V-belt", "slipping belt"), (1, 2, 3, 4, 5)),
}  # fmt: skip
"""States that keep their sign in the mirror."""
ANCHORED = ("friction disc", "shear pins", "magnetic particle clutch", "flat belt", "V-belt", "slipping belt")
"""Their first state is where their spring begins, in every mode."""
UNANCHORED = ("magnet disc", "eddy-current clutch")
"""Their first state is no angle."""
SHORT = {"magnetic particle clutch": 1e-6, "magnetic hysteresis clutch": 1e-6}
"""Half time [s] of the differences for parts whose own states move fast beside the twist: a coil's current."""


def draw_state(data, kind: str, p) -> tuple[int, float, float, list[float]]:
    """A random mode with twist, speed and own states of a size at which something happens."""
    part = REGISTRY[kind]
    modes = len(part.kind.modes)
    if kind == "shear pins" and p[part.kind.column("unequal")] == 0.0:  # alike ones are one set, never some of it
        modes = 10
    mode = data.draw(st.integers(0, modes - 1))
    x = [data.draw(unit) * 0.05 for _ in part.kind.states]
    if kind == "friction disc":
        x[1] = abs(x[1]) * 1000.0
    if kind == "shear pins":
        x[1] = abs(x[1]) + abs(x[0])
    if kind == "magnetic hysteresis clutch":  # an amplitude, up to 5 N*m
        x[3] = abs(x[3]) * 100.0
    if kind in DETENTS and (0 < mode < 9 or mode > 11):  # the elements are on the flank that the mode names
        x[0] = (1e-3 + abs(x[0])) * (1.0 if mode % 2 else -1.0)
    if kind == "eddy-current clutch":
        x[:2] = [40.0 * x[0], abs(x[1]) * 1000.0]
    anchor = x[0] if (x and mode != 0 and kind not in UNANCHORED) or kind in ANCHORED else 0.0
    if kind == "notched-wheel pawl":  # nose on the flank that the mode names; air at its reference or above
        if mode < 7:
            x[0] = (1e-3 + abs(x[0])) * (1.0 if mode % 2 else -1.0) if mode else 0.0
        x[1] = 4e5 * (1.0 + abs(x[1]))
    phi = anchor + data.draw(unit) * TWIST.get(kind, 0.02)
    if kind == "magnetic particle clutch" and mode >= 3:  # sliding, the wind-up is what the torque holds
        phi = anchor + torque(part, state(part, p, mode, x=x)) / p[part.kind.column("k")]
    return mode, phi, data.draw(unit) * data.draw(st.sampled_from([0.5, 20.0])), x


GIVES_BACK = ("conveyor resistance", "incline", "hoisted mass", "nip-fed roll")
"""Loads that give their lifting work back; a web brings its moving energy."""


@over_laws
@at_random(data=st.data())
def test_no_part_gives_energy_away(kind, raw, data):
    """Loss >= 0 wherever the mode agrees with its guards."""
    part = REGISTRY[kind]
    if kind in GIVES_BACK or raw.get("acts") == "pulls backward":
        return
    p = row(part, raw)
    mode, phi, nu, x = draw_state(data, kind, p)
    q = state(part, p, mode, phi, nu, x)
    T = torque(part, q)
    if part.has("guards"):
        assume(all(g >= 0.0 for g in part.call("guards", q, T)))
    assert part.call("loss", q, T) >= -1e-12 * max(1.0, abs(T * nu))


@over_laws
@at_random(data=st.data())
def test_power_in_is_stored_or_lost(kind, raw, data):
    """What hub a takes in = dE/dt + loss in every mode, by central differences of the energy; hub b is held."""
    part = REGISTRY[kind]
    p = row(part, raw)
    mode, phi, nu, x = draw_state(data, kind, p)
    assume(abs(nu) > 1e-3)
    q = state(part, p, mode, phi, nu, x)
    T = torque(part, q)
    if part.has("guards"):
        assume(all(g > 0.0 for g in part.call("guards", q, T)))
    if part.has("inertia"):  # the torque that speeds a varying inertia up is in its kinetic energy
        return
    if not part.has("store"):
        assert pytest.approx(T * nu) == part.call("loss", q, T)
        return
    missing, allowed = imbalance(part, p, mode, phi, nu, x)
    assert missing < allowed


def imbalance(part, p, mode, phi, nu, x) -> tuple[float, float]:
    """Mean power [W] that neither the store nor the loss accounts for over a short way, and what is allowed.

    Power and loss are averaged by Simpson's rule; where it and the trapezium differ, a kink lies on the way, and by as
    much as that the average may be off.
    """
    here = state(part, p, mode, phi, nu, x)
    rates = part.call("rate", here, torque(part, here)) if part.has("rate") else ()
    d = min(1e-6 / abs(nu), SHORT.get(part.kind.name, inf))

    def at(s: float):
        return state(part, p, mode, phi + s * nu, nu, [a + s * b for a, b in zip(x, rates, strict=True)])

    def gain(s: float) -> tuple[float, float]:
        q = at(s)
        T = torque(part, q)
        ga, gb = part.call("ground", q, T) if part.has("ground") else (0.0, 0.0)
        power = T * nu - ga * q.wa - gb * q.wb
        return power, power - part.call("loss", q, T)

    (_, before), (power, now), (_, after) = gain(-d), gain(0.0), gain(d)
    simpson, trapezium = (before + 4.0 * now + after) / 6.0, (before + after) / 2.0
    change = (part.call("store", at(d)) - part.call("store", at(-d))) / (2.0 * d)
    size = max(abs(power), abs(change), 1e-3)
    return abs(simpson - change), 1e-5 * size + abs(simpson - trapezium)


@pytest.mark.parametrize("kind", ["shaft", "tipping sprag", "chain drive"])
@pytest.mark.parametrize("phi", [0.011, -0.004, 3e-5])
def test_a_law_that_makes_energy_is_found_out(kind, phi):
    """A store that holds 1 % less than the work put in, or a loss that is 1 % of the power too small."""
    raw = NEEDED[kind]
    p = row(REGISTRY[kind], raw)
    sound = REGISTRY[kind]
    mode, x = (5, []) if kind == "chain drive" else (0, [0.0] * len(sound.kind.states))
    missing, allowed = imbalance(sound, p, mode, phi, 0.5, x)
    assert missing < allowed
    short = {
        "store": lambda q: 0.99 * sound.call("store", q),
        "loss": lambda q, T: sound.call("loss", q, T) - 0.01 * abs(T * q.nu),
    }
    for name, law in short.items():
        missing, allowed = imbalance(replace(sound, functions={**sound.functions, name: law}), p, mode, phi, 0.5, x)
        assert missing > allowed


def test_a_kink_on_the_way_is_no_fault():
    """The tipping sprag's wedge law bends at no torque, where the differences straddle it."""
    sound = REGISTRY["tipping sprag"]
    p = row(sound, NEEDED["tipping sprag"])
    for phi in (0.0, 3e-8, -4e-7, 9e-7):
        missing, allowed = imbalance(sound, p, 0, phi, 7.0, [0.0])
        assert missing < allowed


@over_laws
@at_random(data=st.data())
def test_torque_is_continuous_within_a_mode(kind, raw, data):
    """A step of 1e-9 in twist and speed changes the torque by no more than stiffness and damping allow."""
    part = REGISTRY[kind]
    p = row(part, raw)
    mode, phi, nu, x = draw_state(data, kind, p)
    assume(abs(nu) > 1e-3)
    d = 1e-9
    here = torque(part, state(part, p, mode, phi, nu, x))
    near = torque(part, state(part, p, mode, phi + d, nu + d, x))
    stiff = 10.0 * max(abs(v) for v in (*p, 1.0)) * max(1.0, p[1])
    assert abs(near - here) <= d * stiff + 1e-12 * abs(here)


MIRROR = {
    "friction disc": (0, 2, 1, 4, 3), **dict.fromkeys(DETENTS, (0, 2, 1, 4, 3, 6, 5, 8, 7, 10, 9, 11, 13, 12, 15, 14)),
    "shear pins": (0, 2, 1, 4, 3, 6, 5, 8, 7, 9, *range(10, 15)), "magnet disc": (0, 2, 1, 4, 3), "shaft": (0,),
    "gear": (0, 2, 1, 4, 3, 6, 5), "flexible coupling": (0, 2, 1, 4, 3, 6, 5), "friction load": (0,),
    "rigid coupling": (0,),
    "eddy-current clutch": (0, 2, 1),
    "notched-wheel pawl": (0, 2, 1, 4, 3, 6, 5, 8, 7, 9), "tipping sprag": (0, 2, 1, 3),
    "magnetic particle clutch": (0, 2, 1, 4, 3), "magnetic hysteresis clutch": (0, 2, 1),
    **dict.fromkeys(("flat belt", "V-belt", "slipping belt"), (0, 2, 1, 4, 3)),
    **dict.fromkeys(("worm gear", "planetary gear"), (0, 2, 1, 4, 3, 6, 5)),
    **dict.fromkeys(("fan", "pump", "viscous load"), (0,)),
}  # fmt: skip


@pytest.mark.parametrize(("kind", "raw"), [v for v, _ in LAWFUL if v[0] in MIRROR])
@at_random(data=st.data())
def test_mirrored_state_gives_mirrored_torque(kind, raw, data):
    part = REGISTRY[kind]
    p = row(part, raw)
    mode, phi, nu, x = draw_state(data, kind, p)
    even = EVEN.get(kind, ())
    y = [v if i in even else -v for i, v in enumerate(x)]
    one, other = state(part, p, mode, phi, nu, x), state(part, p, MIRROR[kind][mode], -phi, -nu, y)
    T = torque(part, one)
    assert torque(part, other) == pytest.approx(-T, rel=1e-12, abs=1e-12)
    assert part.call("loss", other, -T) == pytest.approx(part.call("loss", one, T), rel=1e-12, abs=1e-12)


DRIVES = [v for v in VARIANTS if REGISTRY[v[0]].kind.family == "drive"]


@pytest.mark.parametrize(("kind", "raw"), DRIVES)
@at_random(w=st.floats(-300.0, 300.0))
def test_drives_keep_below_their_top_torque(kind, raw, w):
    """In the mode that agrees with its guards; the loss is the power delivered, negative."""
    part = REGISTRY[kind]
    p = row(part, raw)
    fits = []
    for mode in range(1, len(part.kind.modes)):
        q = state(part, p, mode, nu=-w, ground_b=False)
        if kind == "tabled motor":
            q.mem[3] = 1.0 + sum(v <= w for v in raw["speeds"])
        T = torque(part, q)
        if all(g >= 0.0 for g in part.call("guards", q, T)[1:]):
            fits.append(T)
            assert part.call("loss", q, T) == pytest.approx(-T * w)
    assert fits
    assert max(abs(T) for T in fits) <= part.of_drive("top_torque", p, TAB) * (1 + 1e-12)
