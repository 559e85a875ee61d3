"""What each measure means, with its formula: the one place that says so.

``simcore explain`` prints these texts; result sets take units and names from here.
"""

from __future__ import annotations

from typing import NamedTuple

from simcore.warned import SHOWN_BY_RUNS, Warned


class Measure(NamedTuple):
    """A measure: SI unit (read by pint and UDUNITS), long name, meaning, formula, what to do about it."""

    unit: str
    long_name: str
    meaning: str
    formula: str
    advice: str = ""


MEASURES: dict[str, Measure] = {
    "trigger": Measure(
        "s", "trigger after the event",
        "First instant at which the protection leaves a mode of class 'engaged': a disc slides, a detent "
        "passes its largest torque, the pins break, a magnet coupling passes 90 degrees electrical.",
        "t_trigger = first t >= 0 with class(t) != engaged",
        "Later than the peak of the bare line: the protection comes too late; lower setting or other place.",
    ),
    "lets_go": Measure(
        "s", "lets go after the event",
        "First instant in class 'slipping', 'open' or 'broken': disc as trigger, detent past its crest, "
        "pins broken, magnet's first pole slip (180 degrees electrical).",
        "t_go = first t with class(t) slipping, open or broken",
    ),
    "disconnect": Measure(
        "s", "disconnect after the event",
        "First instant from which the part is open or broken and carries at most 10 % of its nominal "
        "setting for 5 ms. Slip types never do: 'slips, does not disconnect'.",
        "t_off = first t with class open or broken and |T| <= 0.1 S from t to t + 5 ms",
        "No disconnect: the drive must be stopped by other means, or the part heats on.",
    ),
    "reengage": Measure(
        "s", "re-engages after the event",
        "First instant after the disconnect at which the part is engaged again.",
        "t_re = first t > t_off with class(t) = engaged",
        "A ratcheting part that drops in again hits the line anew: stop the drive.",
    ),
    "relief": Measure(
        "s", "relieved from",
        "Instant from which the torque stays at or below 10 % of the setting to the horizon, whatever the "
        "cause.",
        "t_rel = first t with |T| <= 0.1 S from t to the horizon",
    ),
    "standstill": Measure(
        "s", "motor side stands", "First standstill of the protection's driving hub after the trigger.",
        "t_0 = first t > t_trigger with w_a(t) = 0",
    ),
    "peak": Measure(
        "N m", "peak torque at the protected connection",
        "Largest |T| there from the event to the horizon, on the dense output, both limits at events "
        "counted. Every connection has its own peak against its own allowable.",
        "max |T(t)|, 0 <= t <= horizon",
        "Above its allowable: lower setting, softer line, less inertia behind the protection.",
    ),
    "peak_time": Measure("s", "instant of the peak", "When that peak is reached.", "argmax |T(t)|"),
    "first_peak": Measure(
        "N m", "first-impact peak",
        "Largest |T| until the first unloading, to half of it; a peak that a later one dwarfs a thousandfold is none.",
        "max |T(t)| until |T| < max/2",
    ),
    "overshoot": Measure(
        "N m", "overshoot over the setting",
        "Nominal crash peak at the protected connection minus the nominal setting at the same shaft. It "
        "contains breakaway minus running torque.",
        "peak - S * ratio",
        "It adds to the breakaway and does not scale with it; what a disc breaks away above its setting does. Leave "
        "this room below the allowable.",
    ),
    "impulse": Measure(
        "N m s", "let-through impulse",
        "Impulse the protection lets through from trigger to disconnect; without one to standstill of its "
        "driving hub, else to the horizon.",
        "int |T| dt",
    ),
    "energy": Measure(
        "J", "let-through energy", "Energy handed to the driven hub over the same interval; "
        "negative if the load side springs back.",
        "int T w_b dt"
    ),
    "heat": Measure(
        "J", "heat in the protection",
        "Energy lost in the part from the event to the horizon, from its own law, booked switch losses "
        "counted.",
        "int P_loss dt + sum(booked)",
    ),
    "rise": Measure(
        "K", "temperature rise", "Largest rise of the part's own temperature; NaN without a thermal state.",
        "max x_temp(t)", "Above its limit: the facing burns. Stop the drive sooner or take a larger part.",
    ),
    "heat_power": Measure(
        "W", "heat flow at the horizon",
        "Power still lost at the horizon, the mean over the last fifth of the situation: above zero it still slides.",
        "int P_loss dt / (t - 0.8 t)",
    ),
    "time_to_limit": Measure(
        "s", "time to the heat limit, extrapolated",
        "If still sliding at the horizon: time until the rise, and with it the face where that leads, reaches the "
        "limit at that power, at the earliest: what its hub would take is left out. At most an hour; infinite if it "
        "does not by then.",
        "C/G ln((P/G - rise) / (P/G - (limit - r P))), P the heat flow",
        "The drive must be off by then.",
    ),
    "burns_at": Measure(
        "s", "passes its heat limit", "Instant at which the part's hottest place passes its limit; NaN if it does not, "
        "or if the part does not follow its temperature.",
        "t at which T_hot = T_limit",
        "The drive must be off by then.",
    ),
    "stretched": Measure(
        "1", "stretched for good", "Share of their plastic way to the break that pins have used up; NaN for what does "
        "not give way before it lets go.",
        "max of the plastic way over that to the break",
        "In service anything above zero counts as not held: after a few more such events they break.",
    ),
    "too_soon": Measure(
        "1", "triggered before the jam", "Where a jam follows an event of another kind, a start for instance: 1 if the "
        "protection triggered before the jam came, or it never came, 0 if not; NaN where no jam follows.",
        "t_trigger < t_jam",
        "The line does not get as far as the jam: the protection trips in ordinary service.",
    ),
    "slip_angle": Measure(
        "rad", "slipped angle", "Relative angle run through while slipping, open or broken.",
        "int |w_a - w_b| dt while class >= slipping",
    ),
    "tally": Measure(
        "1", "pole slips, pockets passed or pin sets broken", "Counted by the part itself.", "count"
    ),
    "margin": Measure(
        "N m", "service margin",
        "What the protection holds at the low end of its band minus the smallest setting that still meets "
        "the situation (bisected to 0.1 % between 0.05 and 4 times the setting).",
        "(1 - tol) S - S_hold",
        "Negative: ordinary service trips it. Raise the setting, or soften the start.",
    ),
    "asks": Measure(
        "N m", "what the situation asks of the setting", "Smallest setting that meets the situation.",
        "S_hold",
    ),
    "window": Measure(
        "N m",
        "window of the setting",
        "Settings between which the service situations hold at the low end of the band and the crash stays below the "
        "allowable of the protected connection at the high end: what the run sees there beyond its breakaway is taken "
        "to stay as it is, and where it sees less than that, its share of it. Of all crashes, as set and at the high "
        "end, the least counts.",
        "max(S_hold)/(1 - tol) < S < (allowable - peak + breakaway * ratio) / (breakaway * ratio / S) / (1 + tol)",
        "Empty (low above high): soften the start, stiffen the weak part, or move the protection.",
    ),
    "window_low": Measure("N m", "low end of the setting's window", "See window.", "max(S_hold)/(1 - tol)"),
    "window_high": Measure(
        "N m", "high end of the setting's window", "See window.",
        "(allowable - peak + breakaway * ratio) / (breakaway * ratio / S) / (1 + tol)",
    ),
    "ledger": Measure(
        "1", "energy ledger residual",
        "Energy at the event minus energy at the horizon minus all losses, each from its own formula, over "
        "the energy turned over.",
        "(E0 - E1 - sum(losses)) / (E0 + work of sources)",
        "Past 1e-4 the run is not to be trusted: tighten the tolerance and report it.",
    ),
    "use": Measure(
        "1", "peak over allowable",
        "Largest over all limits and situations, as set and at both ends of the setting's band.",
        "max(peak_i / allowable_i)",
    ),
}  # fmt: skip

WARNINGS: dict[str, Warned] = {
    "odd inertia": Warned(
        "An inertia does not fit its neighbours or its motor's power. A slip by a factor of 1000, or one "
        "already reflected to another shaft, is the usual cause.",
        "J w^2 / P of a rotor below 0.03 s or above 2 s; or the inertia before a connection under a "
        "ten-thousandth of the one behind it (common practice, from memory)",
        "Give each inertia at its own shaft; check kg*m^2 against kg*cm^2.",
    ),
    "stiff contact": Warned(
        "The contact of a crash rings far above the line's own modes. The model has too few bodies for "
        "what such a hard contact does.",
        "contact frequency > 3 times the highest mode of the line",
        "Lower the stiffness of the contact to that of the jammed goods and frame together, or add the "
        "elastic part next to it.",
    ),
    "service above setting": Warned(
        "Ordinary running already asks for more than the protection holds at the low end of its band.",
        "load torque at the protection > (1 - tol) S",
        "Raise the setting, or put the protection where less torque passes.",
    ),
    "motor below setting": Warned(
        "The motor, at its limit, cannot reach the torque at which the protection breaks away. A soft jam "
        "then stalls the motor instead of tripping the protection; only the inertia of a crash trips it.",
        "breakaway > largest motor torque at the protection's shaft",
        "Lower the setting, or see that a stalled motor is switched off.",
    ),
    "belt below setting": Warned(
        "A flat belt or V-belt in the line slips at less torque than the protection breaks away at. In a soft jam it "
        "is the belt that slips, on and on, and burns or comes off; only the inertia of a crash trips the protection.",
        "breakaway > largest pull of a belt at the protection's shaft, gear losses counted; belts between the drives "
        "and the protection, or between it and where it ought to let go; and the motors at their limit bring no less",
        "Lower the setting, give the belt more pretension, or see that its slip is noticed.",
    ),
    "slips without a stop": Warned(
        "The protection slips and never disconnects, and nothing in the scenario takes the drive off.",
        "no mode of class 'open' or 'broken', no stop chain that notices its slip: by letting go, slip, temperature, "
        "speed lost between places on its two sides, or a torque that it reaches at its setting",
        "Fit something that notices the slip and stops the drive before the time to the heat limit is over.",
    ),
    "stop at once": Warned(
        "A stop chain is given no time at all, from noticing to the power off. No real one is so fast: slip heat, slip "
        "angle and the energy that the jam takes come out too small.",
        "power off at once; sensor, filter, scan and output all 0, and no brake with a time to apply (common practice, "
        "no source)",
        "Give the delays of the sensor, the control scan and the contactor; leave them out and they take usual values.",
    ),
    "stop that cannot notice": Warned(
        "A stop chain watches something that the protection does not have, so it is left out there.",
        "what is sensed is no state of the part watched: a temperature rise that its model does not follow",
        "Let the chain sense something else, or fit it only to the candidate it is meant for (fitted_to).",
    ),
    "allowable below setting": Warned(
        "The protected connection bears less than the protection holds.",
        "allowable < S * ratio",
        "Lower the setting, strengthen the connection, or move the protection.",
    ),
    "no room for overshoot": Warned(
        "Breakaway at the high end of the band and the bound of the overshoot together pass the allowable. "
        "The bound is pessimistic; the run tells what the overshoot really is.",
        "(1 + tol) breakaway + overshoot bound > allowable",
        "Look at the peak of the run; if that is close too, lower the setting or soften the line.",
    ),
    "start above setting": Warned(
        "A start, by a sudden torque step or with the ramp of torque or speed that is given, would wind the line up "
        "past what the protection holds.",
        "hand estimate of the start peak > (1 - tol) S; a torque ramp leaves at most period/(pi ramp) of a step's "
        "overshoot, and the motor may reach its speed before it is over; a drive that ramps its speed or indexes asks "
        "for V = L + J a, and at most V + sqrt((L0 - V)^2 + 2 J a (L0 + K b)) as the load breaks loose at L0",
        "Start with a torque ramp of about three periods of the lowest mode, or with a longer ramp of the speed, or "
        "raise the setting.",
    ),
    "motor side of a high ratio": Warned(
        "The protection sits on the fast side of a high ratio: cheap and small there, but what turns behind it, half "
        "hub, gear and machine, is large against what turns before it. It cannot protect from that part of the blow; "
        "what sits behind it on the fast side counts with the ratio squared.",
        "speed at the protection > 10 times the slowest shaft, and inertia behind it > 20 % of the one before it, both "
        "at its shaft (common practice, from memory)",
        "Try the slow side as well; compare the peaks at the protected part.",
    ),
    "place not said": Warned(
        "The line branches, loads stand on more than one of its branches, and a situation does not say at which of "
        "them it happens: it happens at the last one in the file. A jam elsewhere loads other parts.",
        "no station given for the event; the last load stands behind a station with after, another load before that",
        "Give at, also where the last load is meant.",
    ),
    "slot not said": Warned(
        "The line has several slots, and the candidate does not say in which it is to be tried: it is tried in the "
        "first. Before or behind a gear a setting means something else, and so does what it protects from.",
        "no slot given for the candidate, and more than one station with part = slot",
        "Give slot, also where the first one is meant.",
    ),
    "drive past the slot": Warned(
        "A second drive joins the line behind the slot. Once the protection has let go it pushes on alone, into what "
        "was to be protected.",
        "a drive on the load side of the slot, from which the protected connection, or the place of a crash, is "
        "reached without another protection on the way",
        "Give each drive a protection of its own, stop all drives with the first that lets go, or move the slot behind "
        "the place where they join.",
    ),
    "one angle only": Warned(
        "A crank, cam or universal joint gives another torque and shows another inertia at every angle. Where it "
        "starts and where it is hit decides the verdict, and the default is the quietest start.",
        "the angle at the start not given, nor varied by a corner or a sweep; a start or a crash among the situations",
        "Run again with other angles, or give corners with them; the worst one counts.",
    ),
    "start not tried": Warned(
        "Starts, not crashes, usually set the lower limit of a setting. Without one the service margin says nothing "
        "about the commonest nuisance trip.",
        "no situation begins with the event start",
        'Add a situation with event = "start", loaded as the worst Monday is.',
    ),
    "load not held": Warned(
        "A weight pulls at the line, and nothing holds it before a start: no closed brake, no backstop, nor its "
        "own friction. The start begins with slack springs, and the load moves by itself until the motor takes it.",
        "a load's pull at rest > its friction at standstill, and no brake or backstop is joined to it",
        "Put in the backstop or brake that the machine has; without one nobody may stand below or behind the load.",
    ),
    "load overhauls the motor": Warned(
        "In ordinary running the load drives the line, and by more than the motor can hold back at its limit: it runs "
        "away with the motor, whatever the protection does.",
        "-running load > largest motor torque, both at the first connection where that holds, gear losses as when the "
        "motor drives (on the safe side); not where a worm that locks lies between",
        "Check the sign and size of the load; fit a larger motor, a self-locking gear or a brake that holds it back.",
    ),
    "worm does not lock": Warned(
        "A weight hangs behind a worm gear that is taken as self-locking, but by its efficiency it is not: warm, run "
        "in or shaken it runs back.",
        "efficiency when driving > 0.5, or when driven > 0, a weight behind it, and no closed brake and no backstop",
        "Fit a brake or a backstop; never rely on a worm alone.",
    ),
    "worm alike both ways": Warned(
        "A worm gear was given one efficiency for both ways. Driven, it loses far more than driving.",
        "efficiency driving < 0.9, and when driven no more than 0.005 below it",
        "Leave efficiency_back out: the same friction then counts both ways, 2 - 1/efficiency.",
    ),
    "limiter before a worm": Warned(
        "The protection sits before a worm gear whose efficiency changes more, between cold and run in, than the "
        "setting scatters: the load sees both.",
        "the larger of cold_loss and 0.05 (common practice, from memory), over the efficiency > tolerance",
        "Put the protection behind the worm, or run the crash cold and warm.",
    ),
    "horizon too short": Warned(
        "A situation ends while a torque still rises to its peak. What it would have become is not known: peak and "
        "margin are those of a shorter event.",
        "at the end of the horizon 99.9 % of the peak or more, and over its last twentieth a rise by 2 % or more of "
        "all its range; of the protection where it holds in service, of the protected part on the bare line in a crash",
        "Give the situation a longer horizon.",
    ),
    "released load": Warned(
        "Once the protection has let go, the load side is free, and a weight pulls at it harder than friction is sure "
        "to hold. A brake or backstop on the motor side does not help then.",
        "weight > 0.8 times the friction at standstill (common practice, from memory), both behind the protection; no "
        "closed brake and no backstop there",
        "Fit a backstop or brake on the load side; nobody may stand below or behind the load.",
    ),
    "one curve for the motor": Warned(
        "The motor is known by rated and breakdown torque only. One smooth curve through both mostly falls far short "
        "of the locked-rotor torque, so that starts and stalls come out wrong.",
        "torque at standstill by that curve more than 20 % off 1.8 to 2.6 times the rated torque (usual plates, from "
        "memory); no locked-rotor torque given, and no torque limit of a converter",
        "Take the locked-rotor torque from the data sheet (induction motor, locked_rotor).",
    ),
    "odd ratio": Warned(
        "A transmission has a ratio that its kind does not have: a slip of the decimal point, or the ratio of the "
        "whole line written at one stage. Inertias count with its square, so that everything comes out wrong.",
        "outside 0.05 to 500 (gear, all stages), 3 to 120 (worm gear), 2 to 12 a stage (planetary gear), 0.1 to 10 "
        "(belts and chains) (common practice, from memory)",
        "Check the ratio: turns of the input for one of the output; write stages on different shafts one by one.",
    ),
    "ratio below one": Warned(
        "A gear turns faster behind than before: it speeds up, which few drive lines do, or its ratio is the wrong way "
        "round. Torques behind it then come out wrong by its square, inertias by its fourth power.",
        "ratio < 1, where 1/ratio is one that its kind has",
        "Check the ratio: turns of the input for one of the output, motor speed over output speed.",
    ),
    "odd stiffness": Warned(
        "A connection would hardly twist, or twist by far too much, at the torque it is said to bear.",
        "allowable / stiffness below 0.005 deg or above 60 deg (common practice, from memory)",
        "Check N*m/rad against kN*m/rad and N*m/deg; give the twist at rated torque instead, which is easily judged.",
    ),
    "heat of another size": Warned(
        "What the protection takes up and gives off as heat was not given, and its default is that of another size. "
        "How long it bears slipping comes out wrong by as much.",
        "heat_capacity or cooling left out, and the setting more than 4 times, or under a quarter of, the one that "
        "their default belongs to",
        "Give both from the data sheet; as a start, heat capacity goes with the mass, cooling with the surface.",
    ),
    "odd hubs": Warned(
        "The hubs in a slot do not fit the size of the protection tried in it. The driven hub stays on the wrong side "
        "of the protection and decides what gets through.",
        "hub inertia more than 4 times, or less than a quarter, of the size rule J ~ T^(5/3) (common practice, from "
        "memory)",
        "Check kg*m^2 against kg*cm^2, and whether the hub of the coupling is counted in.",
    ),
    "bearing overloaded": Warned(
        "A coupling puts more radial load on the shaft and the bearing beside it than they are said to bear: by the "
        "strands of a belt or chain on its flange, or by shafts out of line. The load on a flange grows with the "
        "torque, in a crash too.",
        "overhung load f T_rated/R, or radial stiffness times offset, > allowable_load",
        "A larger sprocket or pulley, a bearing beyond it, a softer coupling, better alignment.",
    ),
    "bearing load not judged": Warned(
        "A coupling puts a radial load on the shaft and the bearing beside it, and nothing says what they bear.",
        "overhung load f T_rated/R, or radial stiffness times offset, without allowable_load",
        "Compare it with the data of motor or gear, at the middle of its shaft end or where the load sits, and give "
        "allowable_load.",
    ),
    **SHOWN_BY_RUNS,
}
"""What each warning means, by the name that ``simcore check`` gives it."""
