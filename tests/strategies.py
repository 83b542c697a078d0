"""Hypothesis strategies for whole jobs, shared by every property test.

``jobs()`` gives jobs that read without an error: every reference leads somewhere and every voltage fits. They may
hold mistakes of engineering (a hand switch around the run pair, parallel fire switches); ``jobs(sound=True)``
leaves those out. ``small_jobs()`` has one or two hoods, for tests where each example costs time.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from hypothesis import strategies as st
from tests.usage_strategies import kitchen_uses

from galleyproof.job import model as m

LINES = ("L1", "L2", "L3")

# What each system gives: lines of a circuit -> (phases, nameplate voltages that belong there).
# Typed here a second time on purpose, by NFPA 70-2023 tables 430.248 and 430.250 and 220.5(A).
POWER: dict[str, list[tuple[tuple[str, ...], int, tuple[float, ...]]]] = {
    "120/240 V 1-phase": [
        (("L1",), 1, (120.0, 115.0)),
        (("L2",), 1, (120.0, 115.0)),
        (("L1", "L2"), 1, (240.0, 230.0)),
    ],
    "120/240 V high-leg delta": [
        (("L1",), 1, (120.0, 115.0)),
        (("L3",), 1, (120.0, 115.0)),
        (("L1", "L2"), 1, (240.0, 230.0)),
        (LINES, 3, (240.0, 230.0)),
    ],
    "208Y/120 V": [
        (("L1",), 1, (120.0, 115.0)),
        (("L2",), 1, (120.0, 115.0)),
        (("L2", "L3"), 1, (208.0, 200.0)),
        (LINES, 3, (208.0, 200.0)),
    ],
    "480Y/277 V": [(("L2",), 1, (277.0,)), (LINES, 3, (480.0, 460.0))],
    "480 V delta": [(LINES, 3, (480.0, 460.0))],
    "600Y/347 V": [(LINES, 3, (600.0, 575.0))],
}
WITH_120 = ("120/240 V 1-phase", "120/240 V high-leg delta", "208Y/120 V")
# Rows that both motor tables have at every voltage used here.
HP_1 = (0.25, 1 / 3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0)
HP_3 = (0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 7.5, 10.0)

PLACES = ("roof", "mezzanine", "plant room", "kitchen", "scullery", "loading dock: east", "yard #2")

Draw = Callable[[st.SearchStrategy[Any]], Any]


def quantities(low: float, high: float) -> st.SearchStrategy[float]:
    """Round numbers mostly, and now and then any float of the range."""
    step = (high - low) / 8
    return st.one_of(
        st.sampled_from([low + n * step for n in range(9)]),
        st.floats(low, high, allow_nan=False, allow_infinity=False).map(lambda v: v + 0.0),
    )


def texts() -> st.SearchStrategy[str]:
    """Names as people write them, and a few that try YAML's patience."""
    odd = (
        "a: b",
        "# no comment",
        "- dash",
        "'quoted'",
        '"',
        "null",
        "1.5",
        "yes",
        "x #y",
        "{a}",
        "~",
        "a\nb",
        "\u00b0C \u2126",
    )
    anything = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), min_size=1, max_size=30)
    return st.one_of(
        st.sampled_from(("Ferry kitchen", "School canteen", "Ward kitchen", *odd)),
        anything.map(str.strip).filter(
            lambda t: len(t.strip("\ufeff\u200b\x1c\x1d\x1e\x1f\x85 ")) > 0 and t == t.strip()
        ),
    )


@dataclass
class _Maker:
    """Draws one job; hands out circuits and tags."""

    draw: Draw
    sound: bool
    motor_system: str
    control_system: str
    circuits: list[m.Circuit] = field(default_factory=list)
    places: set[str] = field(default_factory=set)

    def one(self, *options: Any) -> Any:
        return self.draw(st.sampled_from(options))

    def chance(self) -> bool:
        return bool(self.draw(st.booleans()))

    def unsound(self) -> bool:
        return not self.sound and self.chance()

    def place(self, *usual: str) -> str:
        place = self.one(*usual, *PLACES)
        self.places.add(place)
        return place

    def circuit(self, lines: tuple[str, ...], board: str, *, shunt: bool = False) -> str:
        tag = f"{board}/{len(self.circuits) + 1}"
        accessory = m.ShuntTrip(coil=120.0, cut_off_contact=self.chance()) if shunt else None
        self.circuits.append(
            m.Circuit(
                tag=tag,
                panelboard=board,
                lines=lines,
                breaker=self.one(15.0, 20.0, 25.0, 30.0, 40.0, 60.0),
                shunt_trip=accessory,
                note=self.draw(st.none() | texts()),
            )
        )
        return tag

    def control(self, *, shunt: bool = False) -> str:
        """A circuit of one line at 120 V."""
        return self.circuit(("L1",), "LP-1", shunt=shunt)

    def power(self, phases: tuple[int, ...]) -> tuple[str, int, float]:
        """A circuit for a motor: its tag, its phases and a nameplate voltage that fits."""
        system, board = self.motor_system, "MP-1"
        if not any(p in phases for _, p, _ in POWER[system]):
            system, board = self.control_system, "LP-1"
        lines, found, volts = self.one(*[p for p in POWER[system] if p[1] in phases])
        return self.circuit(lines, board), found, self.one(*volts)

    def drive(self, fan: str) -> tuple[str, m.Drive]:
        kind = self.one("starter", "VFD", "EC")
        if kind == "VFD" and any(p == 3 for _, p, _ in POWER[self.motor_system]):
            tag, _, volts = self.power((3,))
            motor = self.motor(volts, 3)
            return tag, m.Vfd(
                kind="VFD",
                motor=motor,
                rated_input_amps=self.draw(st.none() | quantities(4, 60)),
                run_command=self.run_command(),
                stop_time=self.draw(quantities(0, 60)),
            )
        tag, phases, volts = self.power((1, 3))
        if kind == "EC":
            motor = m.EcMotor(
                volts=volts,
                phases=phases,
                nameplate_amps=self.draw(quantities(0.5, 12)),
                signal=self.one("0-10 V", "PWM"),
                run_contact=self.chance(),
                input_impedance_kohm=self.draw(quantities(10, 500)),
            )
            return tag, m.Ec(kind="EC", motor=motor)
        return tag, m.Starter(kind="starter", motor=self.motor(volts, phases))

    def motor(self, volts: float, phases: int) -> m.Motor:
        return m.Motor(
            hp=self.one(*(HP_3 if phases == 3 else HP_1)),
            volts=volts,
            phases=phases,
            # The code tables have no column for 277 V.
            nameplate_amps=self.draw(quantities(1, 40) if volts == 277.0 else st.none() | quantities(1, 40)),
            service_factor=self.one(1.0, 1.15, 1.25),
        )

    def run_command(self) -> m.RunCommand:
        match self.one("dry", "panel", "circuit"):
            case "panel":
                return m.RunCommand(kind="wet", volts=120.0, owner="the panel")
            case "circuit":
                circuit = self.control()
                return m.RunCommand(kind="wet", volts=120.0, owner="a building circuit", circuit=circuit)
        return m.RunCommand(kind="dry", volts=self.one(24.0, 12.0), owner="the unit")

    # --- items ----------------------------------------------------------------------------------------------

    def hood(self, n: int, zone: str, lights: str | None, appliances: tuple[m.Appliance, ...]) -> m.Hood:
        duty = self.one("light", "medium", "heavy", "extra-heavy")
        idle = self.draw(quantities(75, 100))
        return m.Hood(
            tag=f"H-{n}",
            style=self.one("wall canopy", "single island", "double island", "back shelf", "eyebrow", "pass-over"),
            length=self.draw(quantities(36, 192)),
            depth=self.one(48.0, 54.0, 60.0),
            duty=duty,
            listed_rate=self.draw(st.none() | quantities(600, 6000)),
            zone=zone,
            sensors=tuple(
                m.HoodSensor(tag=f"TS-{n}.{i}", kind=self.one("NTC 10k curve 2", "NTC 10k curve 3", "Pt1000"))
                for i in range(1, self.one(1, 1, 2) + 1)
            ),
            lights=m.Lights(load=self.draw(quantities(60, 1000)), circuit=lights) if lights else None,
            appliances=appliances,
            idle_below=idle,
            full_above=idle + self.one(15.0, 35.0),
        )

    def fan(self, n: int, serves: tuple[str, ...], forced_by: str | None) -> m.ExhaustFan:
        tag = f"EF-{n}"
        circuit, drive = self.drive(tag)
        can_be_forced = isinstance(drive, m.Vfd) or (
            isinstance(drive, m.Ec) and drive.motor.run_contact and drive.motor.signal == "0-10 V"
        )
        forced = forced_by if can_be_forced else None
        release = "full speed"
        if self.unsound():
            release = self.one("low speed", "stop", "as before", *(["run without a speed"] if forced else []))
        return m.ExhaustFan(
            tag=tag,
            place=self.place("roof"),
            serves=serves,
            circuit=circuit,
            drive=drive,
            airflow=self.draw(quantities(500, 8000)),
            static_pressure=self.draw(quantities(0, 4)),
            min_speed=self.draw(quantities(0.2, 1.0)),
            on_release=release,
            forced_by=forced,
            proving=self.draw(
                st.none()
                | st.sampled_from(("current switch", "air-flow switch")).map(
                    lambda kind: m.Proving(tag=f"PS-{n}", kind=kind)
                )
            ),
            after_outage=self.one("restarts by itself", "waits for a hand"),
            disconnect=self.chance(),
        )

    def makeup(self, n: int, tracks: tuple[str, ...]) -> m.MakeupUnit:
        tag = f"MAU-{n}"
        if self.chance():
            circuit, drive = self.drive(tag)
            control: m.MakeupByUnit | m.MakeupByPanel = m.MakeupByPanel(kind="driven from the panel", drive=drive)
        else:
            circuit, phases, volts = self.power((1, 3))
            motor: m.Motor | m.EcMotor = self.motor(volts, phases)
            if self.chance():
                motor = m.EcMotor(volts=volts, phases=phases, nameplate_amps=self.draw(quantities(1, 12)))
            whats = ("thermostat", "duct detector", "building controller", "time clock", "hand switch")
            masters = [
                m.SecondMaster(tag=f"M-{n}.{i}", what=self.one(*whats), may="start" if self.unsound() else "stop")
                for i in range(1, self.one(0, 0, 1, 2) + 1)
            ]
            control = m.MakeupByUnit(
                kind=self.one("run pair", "run and speed pairs"),
                motor=motor,
                run_command=self.run_command(),
                second_masters=tuple(masters),
                start_delay=self.draw(quantities(0, 120)),
                hand_switch="around the run pair"
                if self.unsound()
                else self.one("none", "in series with the run pair"),
            )
        return m.MakeupUnit(
            tag=tag,
            place=self.place("roof"),
            tracks=tracks,
            circuit=circuit,
            control=control,
            airflow=self.draw(quantities(500, 8000)),
            min_speed=self.draw(quantities(0.2, 1.0)),
            on_release="keeps running" if self.unsound() else "stops",
            disconnect=self.chance(),
        )

    def fire_system(self, n: int, *, alarm: bool, run_poles: int) -> m.FireSystem:
        side = ("armed side", "to be measured", "NC", "NO") if not self.sound else ("armed side",)
        poles = [m.Pole(use="panel loop", side=self.one(*side))]
        circuit = None
        if self.chance():
            circuit = self.control()
            poles.append(m.Pole(use="shutdown", side="both sides"))
        if alarm:
            poles.append(m.Pole(use="building alarm", side="released side"))
        run = m.Pole(use="exhaust run", side="released side")
        if run_poles:
            poles += [run] * min(run_poles, 4 - len(poles))
        elif len(poles) < 4 and self.chance():
            poles.append(m.Pole(use="spare", side="to be measured"))
        return m.FireSystem(
            tag=f"FS-{n}",
            zone=f"Z{n}",
            place=self.place("hood"),
            agent=self.one("wet chemical", "water mist"),
            switches=self.one(1, 1, 2, 3),
            switches_joined="in parallel" if self.unsound() else "in series",
            poles=tuple(poles),
            shutdown_circuit=circuit,
        )

    def zone_kit(self, n: int) -> tuple[list[m.Shutdown], list[dict[str, Any]]]:
        """Shutdowns of a zone, and appliances that hang on them (as keywords, without a tag)."""
        zone = f"Z{n}"
        shutdowns: list[m.Shutdown] = []
        appliances: list[dict[str, Any]] = []
        reset = "by itself" if self.unsound() else "by hand"
        if self.chance():
            place = self.place("gas room")
            shutdowns.append(m.GasShutdown(kind="gas valve", tag=f"GV-{n}", zone=zone, place=place, reset=reset))
            appliances.append(
                {
                    "kind": "range",
                    "duty": "medium",
                    "fuel": "gas",
                    "heat_input": self.draw(st.none() | quantities(30000, 300000)),
                    "shut_down_by": self.one(None, f"GV-{n}"),
                }
            )
        if self.chance():
            circuit = self.control(shunt=True)
            shutdowns.append(m.ShuntShutdown(kind="shunt trip", tag=f"SH-{n}", zone=zone, circuit=circuit))
            appliances.append(self._electric(circuit, self.one(None, f"SH-{n}")))
        if self.chance():
            circuit = self.control()
            place = self.place("kitchen")
            shutdowns.append(
                m.ContactorShutdown(
                    kind="held-in contactor", tag=f"KA-{n}", zone=zone, circuit=circuit, place=place, reset=reset
                )
            )
            appliances.append(self._electric(circuit, f"KA-{n}"))
        return shutdowns, appliances

    def _electric(self, circuit: str, by: str | None) -> dict[str, Any]:
        return {
            "kind": self.one("griddle", "kettle", "oven"),
            "duty": "light",
            "fuel": "electric",
            "load": self.draw(quantities(500, 1800)),
            "circuit": circuit,
            "shut_down_by": by,
        }

    def promise(self, fans: list[str], zones: list[str], hoods: list[str]) -> m.OwnPromise:
        when = self.draw(
            st.fixed_dictionaries(
                {},
                optional={
                    f"fire {self.one(*zones)}": st.sampled_from(("armed", "released")),
                    f"heat {self.one(*hoods)}": st.sampled_from(("on", "off")),
                    "reset": st.sampled_from(("not yet", "pressed")),
                },
            )
        )
        effects = st.sampled_from(("runs", "runs at 80 %", "off"))
        expect = {self.one(*fans): self.draw(effects)}
        return m.OwnPromise(say=self.draw(texts()), when=when, expect=expect, clause=self.one("job", "owner"))


def _issued_keys() -> st.SearchStrategy[list[str]]:
    """Keys of conductors that no design has any more, some of them hard to write."""
    return st.lists(st.sampled_from(("gone/run/1", "a: b", "gone #2", "<<")), unique=True)


@st.composite
def _jobs(draw: Draw, least: int, most: int, sound: bool) -> m.Job:
    motor_system = draw(st.sampled_from(sorted(POWER)))
    control_system = motor_system if motor_system in WITH_120 else draw(st.sampled_from(WITH_120))
    k = _Maker(draw, sound, motor_system, control_system)
    panel_circuit = k.control()
    n_hoods = draw(st.integers(least, most))
    n_zones = draw(st.integers(1, min(3, n_hoods)))
    n_fans = draw(st.integers(1, n_hoods))
    zone_of = [*range(1, n_zones + 1)]
    zone_of += draw(st.lists(st.integers(1, n_zones), min_size=n_hoods - n_zones, max_size=n_hoods - n_zones))
    fan_of = [*range(1, n_fans + 1)]
    fan_of += draw(st.lists(st.integers(1, n_fans), min_size=n_hoods - n_fans, max_size=n_hoods - n_fans))

    alarm_from = k.one(None, "fire switch", "panel contact") if not sound else k.one(None, "fire switch")
    run_poles = k.one(0, 0, 1, 2)
    systems = [k.fire_system(z, alarm=alarm_from == "fire switch", run_poles=run_poles) for z in range(1, n_zones + 1)]
    kits = {z: k.zone_kit(z) for z in range(1, n_zones + 1)}
    shutdowns = [s for z in kits for s in kits[z][0]]
    light_circuit = k.control() if k.chance() else None
    hoods = []
    for n in range(1, n_hoods + 1):
        zone = zone_of[n - 1]
        first = zone_of.index(zone) == n - 1  # the kit's appliances stand under the first hood of the zone
        appliances = tuple(m.Appliance(tag=f"A-{n}.{i}", **a) for i, a in enumerate(kits[zone][1], 1)) if first else ()
        hoods.append(k.hood(n, f"Z{zone}", light_circuit if k.chance() else None, appliances))

    fans = []
    for f in range(1, n_fans + 1):
        mine = [n for n in range(1, n_hoods + 1) if fan_of[n - 1] == f]
        system = systems[zone_of[mine[0] - 1] - 1]
        # a pole forces one fan
        free = sum(p.use == "exhaust run" for p in system.poles) - sum(x.forced_by == system.tag for x in fans)
        forced = system.tag if free and k.chance() else None
        fans.append(k.fan(f, tuple(f"H-{n}" for n in mine), forced))
    fan_tags = [fan.tag for fan in fans]
    units = []
    for u in range(1, draw(st.integers(0, min(3, n_fans))) + 1):
        tracked = draw(st.lists(st.sampled_from(fan_tags), min_size=1, max_size=3, unique=True))
        units.append(k.makeup(u, tuple(tracked)))

    movers = [*fan_tags, *(u.tag for u in units if isinstance(u.control, m.MakeupByPanel))]
    dampers = [
        m.Damper(
            tag=f"D-{i}",
            fan=tag,
            volts=k.one(24.0, 120.0),
            load=draw(quantities(2, 20)),
            end_switch=k.chance(),
            place=k.place("roof"),
        )
        for i, tag in enumerate(draw(st.lists(st.sampled_from(movers), max_size=2, unique=True)), 1)
    ]
    switches = []
    if light_circuit or k.chance():
        switches.append(m.WallSwitch(tag="SW-L", kind="on-off", does="lights", place=k.place("kitchen")))
    if k.chance():
        kind = k.one("on-off", "hand-off-auto")
        around = kind == "hand-off-auto" and k.unsound()
        acts_on = tuple(draw(st.lists(st.sampled_from(fan_tags), max_size=2, unique=True)))
        switches.append(
            m.WallSwitch(
                tag="SW-F",
                kind=kind,
                does="fans",
                acts_on=acts_on,
                place=k.place("kitchen"),
                wired="around the fire contact" if around else "to a panel input",
            )
        )
    alarm = m.BuildingAlarm(tag="FAM-1", taken_from=alarm_from, place=k.place("lobby")) if alarm_from else None
    zones = [s.zone for s in systems]
    outputs = []
    if k.chance():
        use = k.one("alarm", "damper", "shutdown")
        outputs.append(m.FireOutput(tag="FO-1", use=use, zone=k.one(*zones), to=k.place("lobby")))
    rooms = [m.RoomSensor(tag="RT-1", place=k.place("kitchen"))] if k.chance() else []
    display = m.Display(tag="OP-1", place=k.place("kitchen")) if k.chance() else None
    ends = ("both ends", "panel only", "far end only", "none") if not sound else ("both ends",)
    link = m.BuildingLink(tag="BL-1", place=k.place("lobby"), end_of_line=k.one(*ends)) if k.chance() else None
    routed = draw(st.lists(st.sampled_from(sorted({*k.places, "electrical room", "hood"})), unique=True, max_size=5))
    routes = [
        m.Route(
            tag=f"R-{i}",
            to=place,
            length=draw(quantities(1, 300)),
            raceway=k.one("EMT", "RMC", "PVC", "FMC", "open cable"),
        )
        for i, place in enumerate(routed, 1)
    ]
    promises = [k.promise(fan_tags, zones, [h.tag for h in hoods]) for _ in range(k.one(0, 0, 1, 2))]

    supplies = [m.Supply(tag="SRV-1", system=control_system, available_fault=draw(quantities(1000, 65000)))]
    boards = [m.Panelboard(tag="LP-1", supply="SRV-1")]
    if any(c.panelboard == "MP-1" for c in k.circuits):
        boards.append(m.Panelboard(tag="MP-1", supply="SRV-1" if motor_system == control_system else "SRV-2"))
        if motor_system != control_system:
            supplies.append(m.Supply(tag="SRV-2", system=motor_system))
    return m.Job(
        galleyproof=1,
        job=m.Identity(
            name=draw(texts()),
            number=draw(texts()),
            revision=k.one("A", "B", "02"),
            date=k.one(None, "2026-03-31"),
            sheet=k.one("ANSI B", "ISO A3"),
            symbols=k.one("IEC", "NEMA"),
        ),
        codes=m.Codes(nec=k.one(2020, 2023)),
        site=m.Site(altitude=draw(quantities(0, 8000)), roof_ambient=draw(quantities(80, 130))),
        supplies=tuple(supplies),
        panelboards=tuple(boards),
        circuits=tuple(k.circuits),
        panel=m.PanelOptions(
            circuit=panel_circuit,
            control_awg=k.one("18", "16"),
            power_awg=k.one(None, "12", "4/0", "250"),
            on_control_power_loss=k.one("exhaust stops", "exhaust runs"),
        ),
        hoods=tuple(hoods),
        exhaust_fans=tuple(fans),
        makeup_units=tuple(units),
        dampers=tuple(dampers),
        fire_systems=tuple(systems),
        shutdowns=tuple(shutdowns),
        building_alarm=alarm,
        fire_outputs=tuple(outputs),
        room_sensors=tuple(rooms),
        switches=tuple(switches),
        display=display,
        building_link=link,
        routes=tuple(routes),
        authority=m.Authority(exhaust_on_release=k.one("starts", "only kept running", "not yet confirmed")),
        kitchen_use=draw(kitchen_uses([h.tag for h in hoods])) if k.one(True, False, False, False) else None,
        promises=tuple(promises),
        issued=m.Issued(conductors={key: n for n, key in enumerate(draw(_issued_keys()), 7)}),
    )


def jobs(*, sound: bool = False) -> st.SearchStrategy[m.Job]:
    """Whole jobs of one to six hoods that read without an error."""
    return _jobs(1, 6, sound)


def small_jobs(*, sound: bool = False) -> st.SearchStrategy[m.Job]:
    """Whole jobs of one or two hoods."""
    return _jobs(1, 2, sound)
