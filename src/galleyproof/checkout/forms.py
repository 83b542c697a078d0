"""The forms in which people complain, in the words of the trade, and what each says of whom."""

from __future__ import annotations

import re
from dataclasses import dataclass

from galleyproof.checkout.model import Reading
from galleyproof.circuit.behaviours.sensing import COLD_DEGF, NOISE_DEGF

VALUE = "(the value said)"
DEGREES = r"(?P<value>[+-]?\d+(?:\.\d+)?)\s*(?P<unit>(?:deg|°)? ?[CF]\b)?"
NOT = r"(?:(?:does|do|did|is|are|will|can) ?not|(?:does|do|did|is|are|wo|ca)n'?t|never|not)"


@dataclass(frozen=True, slots=True)
class Says:
    """One way in which a complaint can be so.

    Attributes:
        slot: Ending of the slots it speaks of.
        readings: What is then seen, any of them.
        when: States it speaks of when the complaint names none, by how their keys begin or end.
        lights: Only of lights, or only of what is none; None is of both.
        guards: Also of the breakers and overloads of what is named.
        whole: Of the job, whatever is named.
        called: Only of what is called so.
        only: Only in its own states, also where the complaint names others.
    """

    slot: str
    readings: tuple[Reading, ...]
    when: tuple[str, ...]
    lights: bool | None = None
    guards: bool = False
    whole: bool = False
    called: tuple[str, ...] = ()
    only: bool = False


@dataclass(frozen=True, slots=True)
class Form:
    """A form of complaint.

    Attributes:
        words: For the message when none fits.
        pattern: What is said.
        says: What it says of each kind of device; of nobody in particular it says the first.
        at: States it speaks of whatever the complaint names.
        names: Whether it has to name what it is about.
        states: Whether it has to name a state: that a fan runs is no complaint.
    """

    words: str
    pattern: re.Pattern[str]
    says: tuple[Says, ...]
    at: tuple[str, ...] | None = None
    names: bool = False
    states: bool = False


def _form(
    words: str,
    pattern: str,
    *says: Says,
    at: tuple[str, ...] | None = None,
    names: bool = False,
    states: bool = False,
) -> Form:
    return Form(words, re.compile(pattern.replace("NOT", NOT), re.IGNORECASE), says, at, names, states)


FULL, SLOW, STILL, WRONG = "turns at full speed", "turns slowly", "stands", "turns the wrong way"
STANDS = Says(".speed", (STILL,), ("cooking",))
DARK = Says(".on", ("no",), ("on",), lights=True)
OFF = Says(".on", ("no",), ("line", "cooking"), lights=False)
SHUT = Says(".open", ("no",), ("cooking", "line"))
BLANK = Says(".display", ("dark",), ("line", "on"))
MUTE = Says(">reads", ("nothing",), ("control", "line"))

FORMS = (
    _form(
        "VALVE opens only while the button is held",
        r"\b(while|as long as|when) (i |the |you )?(reset |push ?)?(button|reset|hold|release|let)|\blets? go of\b|"
        r"\bonly (stays|holds)\b.*\bhold|NOT (stay open|latch|seal|hold in)\b",
        Says(".open", ("no",), ("line",)),
        Says(".on", ("no",), ("line",), lights=False),
        at=("line",),
    ),
    _form(
        "APPLIANCE comes back by itself",
        r"\b((comes?|came|goes|went|turns?|starts?|opens?|runs?)( back)?( on| open| up)?|restarts?) by (itself|"
        r"themselves)|\b(reopens|restarts)\b",
        Says(".open", ("yes",), ("nothing pressed", "outage and back")),
        Says(".on", ("yes",), ("nothing pressed", "outage and back")),
        Says(".speed", (FULL, SLOW), ("line", "switches off again", "outage and back")),
    ),
    _form(
        "panel does not show a release",
        r"\bNOT (show|see|sense|know of|react to) (a |the )?(fire|release)\b|\bblind to\b|"
        r"\bno (fire|release) (signal|input)\b",
        Says(">released", ("no",), ("released",), whole=True),
        at=("released",),
    ),
    _form(
        "panel shows a release without a fire",
        r"\b(shows?|says?|indicates?|sees?) (a |the )?(fire|release)\b|\bfalse (fire|release)\b|"
        r"\bfire (condition )?NOT clear",
        Says(">released", ("yes",), ("control", "line"), whole=True),
    ),
    _form(
        "alarm without a fire",
        r"\balarm (without|with no|but no)\b|\bfalse alarm\b|\balarm (is )?(on|up|stands|NOT clear)\b|\bin alarm\b|"
        r"\b(alarm|horn|bell)\b.*\b(all the time|stays on|keeps)\b|"
        r"\b(horn|bell|sounder|buzzer)s? (NOT (stop|silence)|is on|sounds)(?! in)",
        Says(">alarm", ("yes",), ("control",), whole=True),
    ),
    _form(
        "no alarm in a release",
        r"\bno (alarm|bell|horn)\b|\b(alarm|bell|horn|sounder|buzzer)s? NOT (sound|ring|work|come on|go off|"
        r"(be |get )?notified)",
        Says(".on", ("no",), ("released",), called=("horn", "fire alarm")),
        at=("released",),
    ),
    _form(
        "OVERLOAD trips",
        r"\b(overload|thermal|heaters?)\b.*\b(trips?|tripped|tripping|kicks? out|out)\b|"
        r"\btrips? (its|the|on) (overload|thermal)",
        Says(".tripped", ("yes",), ("line", "on", "cooking"), guards=True, called=("starter",)),
        STANDS,
    ),
    _form(
        "OVERLOAD is set too low (or too high)",
        r"\b(set|dialled|dialed|adjusted|setting|heaters?|dial)\b.*\b(?P<value>low|high|small|large)\b",
        Says(".dial", (VALUE,), ("dead",)),
    ),
    _form(
        "BREAKER does not trip in a release",
        r"\bNOT (trip|open|drop out|shunt)\b.*\b(fire|release|test|pulled)\b|\bNOT (trip|shunt)\b",
        Says(".tripped", ("no",), ("released",)),
        at=("released",),
    ),
    _form(
        "SHUNT TRIP does not work",
        r"\bNOT (work|operate|function|act|fire)\b",
        Says(".tripped", ("no",), ("released",), called=("shunt",)),
        at=("released",),
        names=True,
    ),
    _form(
        "BREAKER will not reset (or trips)",
        r"\bNOT (reset|hold|stay( on| in| closed)?)\b|\b(trips?|tripped|tripping|blows?|blown|blowing)\b",
        Says(".tripped", ("yes",), ("line", "reset by hand", "cooking", "on"), guards=True),
        Says(".display", ("fault",), ("line", "on", "cooking"), guards=True),
    ),
    _form(
        "FAN stops after some seconds (or cycles on and off)",
        r"\bstops (after|again)\b|\bcycles\b|\bon and off\b|\bstarts and stops\b",
        Says(".speed", (STILL,), ("released", "cooking")),
    ),
    _form(
        "FAN turns the wrong way",
        r"\b(wrong (way|direction|rotation)|backwards?|reversed?|rotation is wrong)\b|"
        r"\bblows (down|out|instead)",
        Says(".speed", (WRONG,), ("cooking", "on")),
    ),
    _form(
        "FAN runs slowly (or moves little air)",
        r"\b(runs|turns|stays|is) (only )?(slow|slowly|at low speed|weak)|\b(only|just) (runs|turns) (slow|at low)|"
        r"\bNOT (speed up|ramp up|come up|go up|get up|reach (full )?speed|(go|get|come) to (full|high)|respond|react)|"
        r"\b(stuck|stays|runs) (only )?(at|on) (low|minimum|min|least|idle|half)\b|\btoo slow\b|\bat [1-4]?\d ?hz\b",
        Says(".speed", (SLOW,), ("cooking",)),
    ),
    _form(
        "FAN moves little air (or smoke spills)",
        r"\b(little|low|weak|poor|no) (air ?flow|air|suction|draft|draw|exhaust)\b|\bsmok(e|es|y)\b|\bNOT (draw|pull) "
        r"(any )?(air|smoke)",
        Says(".speed", (SLOW, WRONG, STILL), ("cooking",)),
    ),
    _form(
        "FAN stays at full speed",
        r"\b(stuck|stays|runs|always|only) (on |at |in |to )?(full|high|max\w*|100)|\bNOT (slow|ramp|go|come) down|"
        r"\bflat out\b|\bat [56]\d ?hz\b",
        Says(".speed", (FULL,), ("on", "line")),
    ),
    _form(
        "FAN hunts",
        r"\b(hunts?|hunting|surges?|surging|jumps?|erratic|unsteady|fluctuates?|up and down)\b",
        Says(".speed", (FULL,), ("on",)),
        Says(".speed", (SLOW,), ("cooking",), only=True),
    ),
    _form(
        "SENSOR reads NUMBER (or open, short)",
        rf"\b(?:reads?|shows?|displays?|says?|indicates)(?: about| only)? "
        rf"(?:{DEGREES}|(?P<word>open|short(?:ed)?|nothing|OL)\b)|\b(?P<state>open|shorted)$",
        Says(">reads", (VALUE,), ("control",)),
    ),
    _form(
        "SENSOR is stuck at NUMBER", rf"\bstuck (?:at|on) {DEGREES}", Says(">reads", (VALUE,), ("warmed", "cooking"))
    ),
    _form(
        "SENSOR does not react to heat",
        r"\bNOT (react|respond|change|move|follow)\b|\bstuck\b",
        Says(">reads", (COLD_DEGF,), ("warmed", "cooking")),
    ),
    _form(
        "SENSOR jumps while a drive runs",
        r"\b(jumps?|jumping|erratic|wild|unsteady|fluctuates?)\b",
        Says(">reads", (NOISE_DEGF,), ("on", "cooking")),
    ),
    _form(
        "the drive shows a fault",
        r"\bfault(s|ed)?\b|\berror\b|\b(over-?current|under-?voltage|over-?voltage|phase loss)\b",
        Says(".display", ("fault",), ("on", "cooking", "line"), guards=True),
    ),
    _form(
        "SENSOR is at fault",
        r"\b(fault\w*|failed|failure|alarm|error|bad)\b",
        Says(">reads", ("open", "short", "nothing"), ("control",), called=("sensor",)),
        names=True,
    ),
    _form(
        "the display is dark",
        r"\b(display|screen|keypad)\b.*\b(dark|dead|blank|off)\b|\bno display\b",
        BLANK,
        MUTE,
    ),
    _form(
        "the drive is in local",
        r"\b(in|says|shows|at) (local|hand|manual)\b|\bfrom (the |its )?keypad\b",
        Says(".display", ("in local",), ("on", "cooking"), guards=True),
    ),
    _form(
        "the drive shows stop",
        r"\b(shows|says|display|stays|is|at)\b.*\b(stop|stopped|ready|standby|0 ?hz)\b",
        Says(".display", ("stopped",), ("on", "cooking")),
    ),
    _form(
        "LINK is not on line",
        r"\bnot on ?line\b|\boff ?line\b|\bNOT (answer|communicat\w*|respond|show up|see)\b|"
        r"\bno (comms?|communication)\b|\b(comms?|communication)\b.*\b(lost|down|fail|error|intermittent|drops)|"
        r"\bdrops (out|off)\b|\btimes? out\b",
        Says(".online", ("no",), ("line",)),
    ),
    _form(
        "FAN does not stop (or runs all the time, stays on)",
        r"\bNOT (stop|stopping|shut(ting)? ?(down|off)|(turn|switch|go)(ing)? off|go out|drop(ping)?( out)?|"
        r"be (turned|switched|shut) off|de-?energi[sz]e|quit)\b|"
        r"\b(all (the time|night)|constantly|continuously|keeps? (running|going|burning(?! out))|runs? on)\b|"
        r"\bstays? (lit|on|live|hot|energi[sz]ed)\b|\bstill (on|runs|running|live|hot|lit)\b",
        Says(".speed", (FULL,), ("line", "released")),
        Says(".speed", (SLOW,), ("line",), only=True),
        Says(".on", ("yes",), ("line", "released"), lights=True),
        Says(".on", ("yes",), ("released",), lights=False),
        Says(".open", ("yes",), ("released",)),
    ),
    _form(
        "VALVE does not shut",
        r"\bNOT (shut|close|shutting|closing)\b|\bstays? open\b|\bstuck open\b|\bstill open\b",
        Says(".open", ("yes",), ("released",)),
    ),
    _form(
        "FAN does not run; LIGHTS stay dark; VALVE does not open; APPLIANCE is dead",
        r"\bNOT (run|turn|(re-?)?start|comes? (on|back)|work|spin|light|heat|open|pull in|pick up|energi[sz]e|"
        r"get power|power up|switch on)(\w?ing|s)?\b|"
        r"\b(is|are|stays?|remains?|goes|went|was) (dead|dark|off|out|shut|closed|dim)\b|\bdead\b|"
        r"\b(has|have|with|gets?) no power\b|\bno (power|gas|lights?|heat)\b|(?<!ing )\bout\b|"
        r"\b(hum|buzz|chatter|flicker)\w*|\b(dim|stands)\b|\bstuck (shut|closed)\b",
        STANDS,
        DARK,
        OFF,
        SHUT,
        BLANK,
        MUTE,
    ),
    _form("MOTOR is burnt", r"\bburn(t|ed)\b", STANDS, names=True),
    _form(
        "FAN stops (in a release)",
        r"\b(stops?|stopped|shuts? (off|down)|goes off|turns? off|quits?|drops? out|cuts? out|closes|shuts?)\b",
        Says(".speed", (STILL,), ("cooking",)),
        Says(".on", ("no",), ("cooking",)),
        Says(".open", ("no",), ("cooking",)),
    ),
    _form(
        "FAN runs (in a release, with the switches off)",
        r"\b(runs?|running|comes? on|turns? on|starts?|is on|opens?)\b",
        Says(".speed", (FULL,), ("line", "released")),
        Says(".on", ("yes",), ("released",)),
        Says(".open", ("yes",), ("released",)),
        states=True,
    ),
)
"""In the order in which they are tried."""
