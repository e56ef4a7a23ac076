"""People at work on the segments of a train: what each of their moves harms."""

from collections.abc import Mapping

from sim.upkeep.segments import BAR_PA, COCKS, LEVER, MOST_PA, NAMES, OPENED, SENSORS, Segments, Train

_VALVES = ("inlet valve", "outlet valve", "bypass valve", "UV plug", "pump switch", LEVER)
SHUT_COCKS = "shut the cocks"
_LIGHT = {"UV chamber": "open", "lamp": "out", "sleeve": "out"} | dict.fromkeys(SENSORS, "out")  # let it out
_FRAGILE = ("lamp", "sleeve")
_INSIDE = {"cartridge": "housing", "sleeve": "UV chamber"}  # come out of what must be open
_WITH_DOORS = ("housing", "UV chamber", "tank", "cistern hatch")
_PARTS = ("cartridge", "sleeve", "lamp", *SENSORS)
# Putting back what was never taken out.
_UNDONE = {(one, "shut") for one in _WITH_DOORS} | {(one, "in") for one in (*_PARTS, "UV plug")}


class Work:
    """People at work on the segments of a train."""

    def __init__(self, train: Train, at: Mapping[str, str]):
        """Begin on a `train` with all devices `at` their positions."""
        self.water = Segments(train, at)
        if self.water.is_at("bypass valve", "open"):
            self.water.undosed |= {"O", "N"}
        self.faults: list[str] = []
        self.notes: list[str] = []
        self.told = False
        self.began = False

    def work(self, device: str, position: str) -> None:
        """Bring one `device` to a `position` and note what that does.

        Parameters
        ----------
        device : str
            Valve, plug, switch or part.
        position : str
            Such as "open", "out" or "off".
        """
        water = self.water
        if device not in water.at:
            self.faults.append(f"{device}: this train has none")
            return
        if water.at[device] == position:
            if (device, position) in _UNDONE:
                self.faults.append(f"{device}: {position} already, so what comes before was left out")
            return
        self._guard(device, position)
        water.at[device] = position
        if device in _VALVES:
            water.proven.clear()
        if (device, position) == ("pump switch", "on"):
            water.tank_full = True
        if device == "UV plug":
            water.read, water.warm, water.cool = False, False, False
        segment = OPENED.get((device, position), "K")
        if segment == "K":
            water.settle()
            return
        water.opened.add(segment)
        water.air |= water.joined(segment) & {"H", "U"}
        water.pressure_pa.update(dict.fromkeys(water.joined(segment), 0.0))

    def _guard(self, device: str, position: str) -> None:
        """Note what must not be done now."""
        water, said = self.water, self.faults
        if (device, position) in OPENED:
            self._opening(device, OPENED[device, position])
        if _LIGHT.get(device) == position and water.is_at("UV plug", "in"):
            said.append(f"{device}: {position} with the unit plugged in")
        if device in _INSIDE and not water.is_at(_INSIDE[device], "open"):
            said.append(f"{device}: {position} with the {_INSIDE[device]} shut")
        if position == "out":
            self._wiping(device)
        if device in _FRAGILE and position == "out":
            self._drawing(device)
        if device == "UV chamber" and position == "open" and water.is_at("lamp", "in"):
            said.append("UV chamber: opened with the lamp in it")
        if device == "UV plug" and position == "in":
            self._plugging()
        feeds = {("inlet valve", "open"), ("pump switch", "on")}
        through = device == "inlet valve" or water.at.get("inlet valve", "open") == "open"
        if (device, position) in feeds and self.open_parts() and through:
            said.append(f"{device}: {position} into an open train")
        if (device, position) in feeds and through:
            said += [f"{device}: {position} with the {cock} open" for cock in self._open_cocks()]
        if (device, position) == ("bypass valve", "open"):
            said.append("bypass valve: opened, and raw water stands in the house")
            water.undosed |= {"O", "N"}
        if (device, position) == ("outlet valve", "open"):
            self._giving_back()
        if (device, position) == ("cistern hatch", "open") and water.is_at("pump switch", "on"):
            said.append("cistern hatch: opened with the pump on")

    def _drawing(self, device: str) -> None:
        """Note a lamp or sleeve drawn hot, or a lamp with the pump behind it, past a valve that may leak."""
        water, said = self.water, self.faults
        if not water.cool:
            said.append(f"{device}: handled hot")
        fed = water.at.get("inlet valve", "open") == "open" and water.is_at("pump switch", "on")
        if device == "lamp" and fed:
            said.append("lamp: out with the water on, and a sleeve that cracks sprays")

    def _open_cocks(self) -> list[str]:
        return [cock for cock, n in COCKS.items() if n != "K" and self.water.is_at(cock, "open")]

    def _wiping(self, device: str) -> None:
        """Hold window and sleeve to a reading each: wiped together, nobody knows which was low."""
        one = "window" if device in SENSORS else device
        if one not in ("window", "sleeve"):
            return
        for other in sorted(self.water.unread - {one}):
            self.faults.append(f"{device}: out before a reading was taken with the {other} wiped")
        self.water.unread.add(one)

    def open_parts(self) -> bool:
        """Return whether a housing or the chamber stands open."""
        return any(self.water.is_at(*one) for one, segment in OPENED.items() if segment != "K")

    def _opening(self, device: str, one: str) -> None:
        water, said = self.water, self.faults
        left_pa = water.pressure_pa[one]
        if left_pa > MOST_PA:
            said.append(f"{device}: opened under pressure, {NAMES[one]} at {left_pa / BAR_PA:.2f} bar")
        elif left_pa > 0.0:
            self.notes.append(f"{left_pa / BAR_PA:.2f} bar stays in the {NAMES[one]}")
        if one == "K":
            if water.is_at("pump switch", "on"):
                said.append("tank: opened with the pump on")
            return
        if water.is_at("UV plug", "in"):
            said.append(f"{device}: opened with the unit plugged in")
        if one not in water.proven:
            said.append(f"{device}: opened before zero was proven in the {NAMES[one]}")
        emptied = all(water.is_at(tap, "open") for tap in ("lowest tap", "tap upstairs"))
        if "N" in water.joined(one) and not emptied:
            said.append(f"{device}: opened while joined to the house, which drains back")
        if "K" in water.joined(one) and (water.is_at("pump switch", "on") or water.tank_full):
            said.append(f"{device}: opened with the water on")

    def _plugging(self) -> None:
        water, said = self.water, self.faults
        if not self.whole():
            said.append("UV plug: in with a part of the unit out or the train open")
        if water.air & {"H", "U"}:
            where = " and ".join(NAMES[n] for n in "HU" if n in water.air)
            said.append(f"UV plug: in with air in the {where}")
        said += [f"UV plug: in with the {cock} open, and water runs on" for cock in self._open_cocks()]
        if water.is_at("outlet valve", "open"):
            said.append("UV plug: in with the outlet valve open, and warm-up water goes to the taps")

    def _giving_back(self) -> None:
        water, said = self.water, self.faults
        bleeding = water.is_at("lowest tap", "open") and not any(
            cock in water.at for cock in ("sampling valve after UV", "chamber sampling valve")
        )
        if not (water.lit and water.read):
            if bleeding and self.whole() and not water.is_at("UV plug", "in"):
                water.undosed |= {"O", "N"}
            else:
                said.append("outlet valve: opened before the unit was lit and read")
        elif "O" in water.undosed and "sampling valve after UV" in water.at:
            said.append("outlet valve: opened with undosed water behind the unit")
        if "O" in water.undosed:
            water.undosed.add("N")

    def whole(self) -> bool:
        """Return whether train and unit are closed and have their parts."""
        return self.water.unit_whole and not self.open_parts()

    def act(self, act: str) -> None:
        """Do an `act` that works no device.

        Parameters
        ----------
        act : str
            One of the acts that a step may name, such as "run".
        """
        water, why = self.water, ""
        if act == "run":
            why = water.run()
        elif act.startswith("prove "):
            why = water.prove({"housing": "H", "chamber": "U"}[act.removeprefix("prove ")])
        elif act == SHUT_COCKS:
            for cock in self._open_cocks():
                self.work(cock, "shut")
        elif act == "warm":
            why = "" if water.lit else "the unit is dark"
            water.warm = not why
        elif act == "cool":
            why = "" if water.is_at("UV plug", "out") else "the unit is still plugged in"
            water.cool = not why
        elif act == "read":
            why = self._reading()
        elif act in ("flush a tap", "flush every tap"):
            why = self._flush(every=act == "flush every tap")
        elif act == "tell":
            self.told = self.began = True
        elif act == "all told":
            self.began, why = False, "" if self.told else "nobody was told before the work"
        if why:
            self.faults.append(f"{act}: {why}")

    def _reading(self) -> str:
        """Read the monitor; return why the reading does not count."""
        water, why = self.water, ""
        if not (water.lit and self.whole()) or water.air & {"H", "U"}:
            why = "the unit is dark, open or in air"
        elif not water.warm:
            why = "the lamp is not warm yet"
        water.read = not why
        if water.read:
            water.unread.clear()
        return why

    def _flush(self, every: bool) -> str:
        water = self.water
        if not (water.live("N") and "U" in water.joined("N")):
            return "no water comes to the taps through the unit"
        if not (water.lit and water.read):
            water.undosed |= {"O", "N"}
            return "the unit is dark or not yet read"
        if every and not water.is_at("bypass valve", "open"):
            water.undosed.clear()
        return ""

    def is_so(self, state: str) -> bool:
        """Return whether the plant is in a `state` that a step asks for.

        Parameters
        ----------
        state : str
            One of the states that a step may need, such as "relieved".
        """
        water = self.water
        states = {
            "water shut": not water.live("H"),
            "relieved": max(water.pressure_pa["H"], water.pressure_pa["U"]) <= MOST_PA,
            "unplugged": water.is_at("UV plug", "out"),
            "sensor unplugged": water.at.get("sensor plug", "out") == "out",
            "pump off": water.is_at("pump switch", "off"),
            "tank drained": not water.tank_full and water.pressure_pa["K"] <= MOST_PA,
        }
        return states[state]

    def left(self) -> list[str]:
        """Return what is amiss when the work is called done."""
        water = self.water
        found = [f"undosed water left in the {NAMES[n]}" for n in "ON" if n in water.undosed]
        if not (water.lit and self.whole()):
            found.append("the unit is left dark")
        elif not water.read:
            found.append("the unit was not read")
        if water.is_at("bypass valve", "open"):
            found.append("the bypass is left open")
        if water.is_at(LEVER, "open"):
            found.append("the lever of the shut-off valve is left held")
        if not water.live("N") or "U" not in water.joined("N"):
            found.append("no water comes to the taps")
        if water.is_at("pump switch", "off"):
            found.append("the pump is left off")
        found += [f"{name} is left open" for name in water.outlets("KHUON")]
        found += [f"{name} is left open" for name in _WITH_DOORS if water.is_at(name, "open")]
        found += [f"{name} is left out" for name in (*_PARTS, "sensor plug") if water.is_at(name, "out")]
        if self.began:
            found.append("nobody is told that the work is done")
        if "U" in water.opened:
            self.notes.append("the chamber was open: disinfect where rules ask")
        return found
