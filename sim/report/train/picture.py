"""The picture of a train: one pure function of site, states and width."""

import re
from dataclasses import dataclass
from html import escape
from textwrap import wrap

from sim.report.train import shapes
from sim.scenario.scenario import Scenario
from sim.study.wording import percent

COLUMN, BLOCK = 145.0, 124.0  # of a part in the wide picture, and of its words
_CUT = " …"  # ends words that have no room
NARROW = 700  # below it the parts stand one below the other
_WIDE_CHARACTERS, _TALL_CHARACTERS = 18, 29


@dataclass(frozen=True)
class Shown:
    """What is shown of a part.

    Attributes
    ----------
    name : str
        What it is called.
    note : str
        A line on what it reads.
    left : tuple of float or None
        Share that is left before one must act: low, middle and high.
    state : str
        "fine", "plan", "act", or "none" where nothing is told.
    due : str
        What to do by when, in a few words.
    word : str
        What `left` is a share of: "left" or "full".
    """

    name: str
    note: str = ""
    left: tuple[float, float, float] | None = None
    state: str = "none"
    due: str = ""
    word: str = "left"


@dataclass(frozen=True)
class States:
    """What is shown of all parts; stages in the order of the water."""

    roof: Shown
    cistern: Shown
    pump: Shown
    tank: Shown
    stages: tuple[Shown, ...]
    uv: Shown
    taps: Shown
    display: str = ""  # what the UV monitor shows

    @property
    def parts(self) -> tuple[Shown, ...]:
        """All of them, in the order of the water."""
        return (self.roof, self.cistern, self.pump, self.tank, *self.stages, self.uv, self.taps)


def picture(site: Scenario, states: States, width: int) -> str:
    """Return the train of a site as SVG, parts side by side, or one below the other where it is narrow."""
    name = "wide" if width >= NARROW else "tall"
    body, box = (_wide if width >= NARROW else _tall)(site, states, name)
    return (
        f'<svg class="{name}" viewBox="{box}" role="img" aria-labelledby="{name}-t {name}-d">'
        f'<title id="{name}-t">The train of {escape(site.name)}, roof to tap</title>'
        f'<desc id="{name}-d">{escape(said(site, states))}</desc>{shapes.patterns(name)}'
        f'<g aria-hidden="true">{body}</g></svg>'
    )


def said(site: Scenario, states: States) -> str:
    """Return the picture in words, for those who hear it."""
    bypass = " The bypass is shut." if "bypass valve" in _fittings(site) else ""
    held = " and a restrictor" if site.uv.restrictor_m3_s is not None else ""
    speed = ", whose speed holds the pressure," if site.pump.holds else ""
    speed += ", a second one standing by," if site.pump.standby else ""
    mains = ", into which mains water falls through an air gap" if _has_mains(site) else ""
    told = [f"Water runs from the roof into the cistern{mains}; the pump{speed} lifts it to the pressure "
            f"tank and through {len(site.stages)} housings{held} and the UV chamber to the taps."
            f"{bypass}"]  # fmt: skip
    for part in states.parts:
        words = [part.note, _left(part), part.due]
        told.append(f"{part.name}: {'; '.join(word for word in words if word) or 'nothing told'}.")
    return " ".join(told)


def _left(part: Shown) -> str:
    if part.left is None:
        return ""
    low, middle, high = (100.0 * min(max(share, 0.0), 1.0) for share in part.left)
    return f"{percent(middle / 100.0)} {part.word} ({low:.0f} to {high:.0f})"


def _together(note: str) -> str:
    """Return a note whose numbers stay with their units and months."""
    return re.sub(r"(\d) (?=\S)", "\\1\u00a0", note)


def _fittings(site: Scenario) -> frozenset[str]:
    return frozenset(str(one.name) for one in site.fittings)


def _has_mains(site: Scenario) -> bool:
    return site.cistern.mains_m3_s is not None


def _granular(site: Scenario, k: int) -> bool:
    return bool(site.stages[k].carbon_bed_m3 > 0.0)


def _used(part: Shown) -> float:
    return 1.0 - part.left[1] if part.left else 0.0


def _words(part: Shown, x: float, y: float, width: float, characters: int, name: str) -> tuple[str, float]:
    """Return the words and the bar of a part below each other, and where they end."""
    found = [shapes.mark(x + 6, y - 5, part.state)]
    for line in wrap(part.name, characters - 2, max_lines=2, placeholder=_CUT):
        found.append(shapes.text(x + 19, y, line, "name"))
        y += 18
    for line in wrap(_together(part.note), characters, max_lines=3, placeholder=_CUT):
        found.append(shapes.text(x, y + 3, line))
        y += 18
    if part.left is not None:
        found.append(shapes.bar(x, y - 2, width, *part.left, part.state, name))
        found.append(shapes.text(x, y + 27, _left(part), "small"))
        y += 45
    for line in wrap(part.due, characters, max_lines=2, placeholder=_CUT):
        found.append(shapes.text(x, y + 3, line, "due"))
        y += 18
    return "".join(found), y


def _wide(site: Scenario, states: States, name: str) -> tuple[str, str]:
    """Return the parts side by side, under one roof, and their box."""
    have, count = _fittings(site), len(site.stages)
    drive = _beside_pump(site, 90, 10, shapes.standby(10, -20, "middle"))
    right = COLUMN * (6 + count)
    stages = [COLUMN * (4.5 + k) for k in range(count)]
    uv, taps = COLUMN * (4.5 + count), COLUMN * (5.5 + count)
    riser, fall = COLUMN * 4 - 2, COLUMN * (4 + count) + 10
    pipes = [
        shapes.pipe("M22 132V168H217V186"),
        shapes.pipe("M284 320H328"),
        shapes.pipe(f"M350 298V286H{riser:g}V200H{fall:g}V306H{uv - 24:g}"),
        shapes.pipe(f"M{uv + 24:g} 188H{taps - 8:g}V112H{taps + 22:g}M{taps - 8:g} 188V262H{taps + 24:g}"),
        shapes.pipe("M507 286V262"),
        shapes.pipe("M72 168V182"),
    ]
    if "bypass valve" in have:
        pipes.insert(0, shapes.pipe(f"M{riser:g} 194V132H{taps - 34:g}V182", dry=True))
    found = [
        shapes.path("th", f"M308 104V352M{right - 14:g} 29V352"),
        shapes.path("ol", f"M4 352H{right - 4:g}", "stroke-width:1.5"),
        shapes.path("bd " + states.roof.state, f"M20 118L{right - 8:g} 20v9L20 127Z"),
        *(shapes.rain(x, 84 - 90 * x / right + 14 * (k % 3) - 10) for k, x in
          enumerate(range(60, int(right) - 60, 44))),
        *(outline for outline, _ in pipes), *(water for _, water in pipes),
        *(shapes.chevron(x, y, turned) for x, y, turned in (
            (22, 152, 90), (120, 168, 0), (306, 320, 0), (400, 286, 0), (545, 286, 0), (riser, 250, -90),
            (fall, 256, 90), (fall + 22, 306, 0), (taps - 8, 150, -90), (taps - 8, 232, 90))),
        *(shapes.chevron(x - 60, 200, 0) for x in stages[1:]),
        shapes.path("bd w", "M8 122H36Q36 136 22 136T8 122Z"),
        shapes.at(72, 176, shapes.first_flush()),
        shapes.at(217, 184, shapes.cistern(_level(states), name)), *_mains(site),
        shapes.at(350, 320, shapes.pump(states.pump.state) + drive),
        shapes.at(436, 236, shapes.gauge()), shapes.path("ol", "M436 274v7"),
        shapes.at(507, 142, shapes.tank(states.tank.state)),
        *(shapes.at(x, 200, shapes.housing(one.state, _used(one), _granular(site, k), name))
          for k, (x, one) in enumerate(zip(stages, states.stages, strict=True))),
        shapes.at(uv, 166, shapes.uv(states.uv.state)),
        *_held(site, uv), *_display(states, uv), *_fitted(have, riser, fall, uv, taps),
        shapes.path("bd", f"M{taps + 14:g} 106h16l8 14h-32Z"),
        *(shapes.drop(taps + 10 + 8 * k, 126 + 6 * (k % 2)) for k in range(4)),
        shapes.at(taps + 24, 262, shapes.tap()),
    ]  # fmt: skip
    ends = [352.0]
    for k, part in enumerate(states.parts):
        words, end = _words(part, COLUMN * k + 8, 391, BLOCK, _WIDE_CHARACTERS, name)
        found.append(words)
        ends.append(end)
    return "".join(found), f"0 -18 {right:g} {max(ends) + 24:g}"


def _mains(site: Scenario) -> tuple[str, ...]:
    """Return the mains that fall into the cistern through an air gap, where there are any."""
    if not _has_mains(site):
        return ()
    return shapes.at(252, 184, shapes.air_gap()), shapes.text(314, 155, "mains, air gap", "small")


def _beside_pump(site: Scenario, x: float, y: float, second: str) -> str:
    """Return what stands at the pump: a drive on its motor, a second pump beside or below it."""
    return site.pump.standby * shapes.at(x, y, second) + site.pump.holds * shapes.drive()


def _held(site: Scenario, uv: float) -> tuple[str, ...]:
    """Return the restrictor before the UV unit, where there is one."""
    if site.uv.restrictor_m3_s is None:
        return ()
    return (
        shapes.at(uv - 62, 306, shapes.restrictor()),
        shapes.text(uv - 62, 334, "restrictor", "small", "middle"),
    )


def _display(states: States, uv: float) -> tuple[str, ...]:
    if not states.display:
        return ()
    return (
        shapes.path("th", f"M{uv:g} 159V124M{uv - 37:g} 239V124"),
        shapes.rect("bd", uv - 42, 84, 84, 40, 6),
        shapes.text(uv, 110, states.display, "name", "middle"),
    )


def _fitted(have: frozenset[str], riser: float, fall: float, uv: float, taps: float) -> list[str]:
    """Return the valves a train has, with their names."""
    spout = f"M{uv + 40:g} 194h16v8h-5v10h-6v-10h-5Z"
    able = {
        "inlet valve": (
            shapes.at(riser + 23, 200, shapes.valve(True)), riser + 12, (162, 178), "start",
            ("inlet valve,", "open"),
        ),
        "bypass valve": (
            shapes.at((riser + fall) / 2, 132, shapes.valve(False)), (riser + fall) / 2, (108,), "middle",
            ("bypass, shut",),
        ),
        "sampling valve after UV": (
            shapes.path("bd", spout), uv + 58, (228, 243), "middle", ("sampling", "tap, shut"),
        ),
        "outlet valve": (
            shapes.at(taps - 58, 188, shapes.valve(True)), taps - 44, (154, 169), "end",
            ("outlet valve,", "open"),
        ),
    }  # fmt: skip
    found = []
    for name in sorted(have & set(able)):
        shape, x, heights, anchor, words = able[name]
        found.append(shape)
        found += [shapes.text(x, y, word, "small", anchor) for y, word in zip(heights, words, strict=True)]
    return found


def _level(states: States) -> float:
    return states.cistern.left[1] if states.cistern.left else 0.5


def _eaves() -> str:
    """Return the edge of a roof with its gutter."""
    roof = shapes.path("bd", "M-62 -14L12 8v8L-62 -6Z") + shapes.path("bd w", "M0 14H30Q30 30 15 30T0 14Z")
    return roof + shapes.rain(-40, -26) + shapes.rain(-12, -20)


def _held_below(site: Scenario) -> str:
    """Return the restrictor on the side from which the water comes down to the UV unit."""
    if site.uv.restrictor_m3_s is None:
        return ""
    side = -1 if len(site.stages) % 2 == 0 else 1
    return shapes.at(41 * side, 142, f'<g transform="scale(.7)">{shapes.restrictor()}</g>')


def _tall(site: Scenario, states: States, name: str) -> tuple[str, str]:
    """Return the parts one below the other, water running down from side to side, and their box."""
    drive = _beside_pump(site, 20, 50, shapes.standby(-16, 5, "end"))
    gap = shapes.at(-35, 0, f'<g transform="scale(-1 1)">{shapes.air_gap()}</g>') if _has_mains(site) else ""
    turned = -1 if len(site.stages) % 2 == 0 else 1  # the tap, away from the side its water comes from
    glyphs = [  # shape, how far in and out lie below its row, its own height
        (_eaves(), 26, 26, 66),
        (f'<g transform="scale(.72)">{shapes.cistern(_level(states), name)}{gap}</g>', 0, 98, 130),
        (shapes.at(-16, 30, shapes.pump(states.pump.state) + drive), 30, 8, 80 + 22 * site.pump.standby),
        (shapes.at(0, 8, shapes.tank(states.tank.state)), 142, 142, 186),
        *((shapes.at(0, 18, shapes.housing(one.state, _used(one), _granular(site, k), name)), 18, 18, 146)
          for k, one in enumerate(states.stages)),
        (shapes.at(0, 8, shapes.uv(states.uv.state)) + _held_below(site), 142, 30, 182),
        (shapes.at(0, 14, f'<g transform="scale({turned} 1)">{shapes.tap()}</g>'), 14, 14, 90),
    ]  # fmt: skip
    y, places, words = 24.0, [], []
    for part, (_, _, _, height) in zip(states.parts, glyphs, strict=True):
        told, end = _words(part, 150, y + 16, 200, _TALL_CHARACTERS, name)
        places.append(y)
        words.append(told)
        y = max(y + height, end + 14)
    pipes = []
    for k in range(len(glyphs) - 1):
        side = 132 if k % 2 == 0 else 12
        out, into = places[k] + glyphs[k][2], places[k + 1] + glyphs[k + 1][1]
        pipes.append(shapes.pipe(f"M72 {out:g}H{side}V{into:g}H72"))
        pipes.append(("", shapes.chevron(side, (out + into) / 2, 90)))
    found = [
        *(outline for outline, _ in pipes), *(water for _, water in pipes),
        *(shapes.at(72, top, shape) for top, (shape, _, _, _) in zip(places, glyphs, strict=True)), *words,
    ]  # fmt: skip
    return "".join(found), f"0 0 358 {y + 8:g}"
