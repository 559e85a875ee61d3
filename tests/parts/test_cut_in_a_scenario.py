"""A stop that cuts coils, in whole scenarios: who is reached, what it saves, what is refused."""

from __future__ import annotations

from math import exp

import numpy as np
import pytest
from lines import Run
from test_stop_chain import BALLS, HEAD, JAM, chain

from simcore import api
from simcore.cli.jsonout import document
from simcore.errors import InputError
from simcore.line.assemble import assemble
from simcore.parts.stop_chain import STOPPED
from simcore.scenario.read import read_text
from simcore.units import show

POWDER = '[candidates."magnetic particle clutch"]\nsetting = "40 N*m"\nsuppression_resistance = "90 ohm"\n'
EDDY = '[candidates."eddy-current clutch"]\nsetting = "60 N*m"\n'
SLIPS = ('angle = "20 deg"', "brakes = false")


def table(*more: str) -> str:
    return HEAD.format(speed=50) + "".join(more) + JAM


def jammed(*more: str, name: str = "magnetic particle clutch") -> Run:
    s = read_text(table(*more))
    return Run(assemble(s, s.candidates[name], s.situations["jam"]))


def test_a_chain_that_cuts_the_coil_leaves_the_rotor_turning():
    """Through 18 + 90 ohm 1.2 H lose their current in 11 ms, so that 40 N*m take some 0.4 N*m s off the rotor's
    0.03 kg*m^2; fed on, the clutch brings the rotor to rest.  By hand, curve taken as straight."""
    plain, cut = (jammed(POWDER, chain("slip angle", *SLIPS, more)) for more in ("", "cuts_coils = true"))
    i, rotor = plain.a.candidate, plain.a.graph.places["motor"].node
    (acts,) = (t for t in cut.events(cut.a.index("watch"), STOPPED))
    begins, left = (float(np.interp(t, cut.t, cut.speed(rotor))) for t in (acts, acts + 0.06))
    lost = 40.0 * (0.98 * 1.2 / 108.0 * (1.0 - exp(-0.06 * 108.0 / 1.2)) + 0.02 * 0.06) / 0.03
    assert begins - left == pytest.approx(lost, rel=0.1)
    assert left > 0.6 * begins
    assert float(np.interp(acts + 0.06, plain.t, plain.speed(rotor))) < 0.1 * begins
    assert cut.torque(i)[-1] <= 40.0 * 0.02 * 1.001
    assert cut.residual < 1e-6


@pytest.mark.parametrize(("candidates", "fitted", "fine"), [
    ((POWDER, BALLS), "", True), ((EDDY,), "", True), ((BALLS,), "", False),
    ((POWDER, BALLS), 'fitted_to = "ball detent"', False),
])  # fmt: skip
def test_refused_where_nothing_is_held_by_a_coil(candidates, fitted, fine):
    text = table(*candidates, chain("letting go", "cuts_coils = true", fitted))
    if fine:
        read_text(text)
        return
    with pytest.raises(InputError) as e:
        read_text(text)
    (fault,) = e.value.faults
    assert fault.path == 'stops["watch"].cuts_coils'
    assert fault.rule == "nothing that this stop reaches is held by a coil"
    assert "eddy-current clutch" in str(fault.hint)
    assert "magnetic particle clutch" in str(fault.hint)


def test_screen_and_json_tell_what_the_resistor_takes():
    """L i^2/2 at the coil's current, 90/108 of it in 90 ohm beside the 18 ohm of the winding; RL circuit, textbook."""
    s = read_text(table(POWDER, chain("slip angle", *SLIPS, "cuts_coils = true")))
    result = api.run(s, evidence=False)
    (left,) = result.run("magnetic particle clutch", "jam").left_behind
    a = assemble(s, s.candidates["magnetic particle clutch"], s.situations["jam"])
    sheet = a.graph.elements[a.candidate].part.call("sheet", a.rows[a.candidate])
    stored = 0.5 * 1.2 * sheet["current at the setting"][0] ** 2
    assert (left.name, left.unit) == ("heat of the coil's resistor", "J")
    assert left.value == pytest.approx(stored * 90.0 / 108.0, rel=1e-4)
    said = next(r.text for r in result.remarks if r.label == "Left behind")
    assert said == f"'magnetic particle clutch' after 'jam': heat of the coil's resistor {show(left.value, 'energy')}."
    told = next(r for r in document(result)["runs"] if r["situation"] == "jam" and r["candidate"] in s.candidates)
    assert told["left_behind"] == {"heat of the coil's resistor": {"value": left.value, "unit": "J"}}


def test_refused_of_an_emergency_stop_as_well():
    button = '[situations."button"]\nevent = "emergency stop"\nvents = true\n'
    with pytest.raises(InputError, match="nothing that this stop reaches is held by air"):
        read_text(table(POWDER, button))
    read_text(table(POWDER, button.replace("vents", "cuts_coils")))
