"""Shapes of the parts of a train, as SVG about an anchor: own drawings, tinted by state.

An anchor is where water comes in or the middle of the top; each shape says which. Colours are names of
`PICTURE_CSS`, so that a picture follows the scheme of its page.
"""

from html import escape

PICTURE_CSS = """
:root {--paper: light-dark(#ffffff, #16191c); --panel: light-dark(#f2f4f6, #22272b);
  --ink: light-dark(#1a1a1a, #ececec); --soft: light-dark(#4a545d, #b6bfc8);
  --line: light-dark(#59646e, #9aa5af); --rule: light-dark(#d9dde1, #3a4147);
  --water: light-dark(#a9d8f3, #1d628f); --water-ink: light-dark(#0a4468, #e3f3fd);
  --fine: light-dark(#009E73, #2fb78d); --plan: light-dark(#E69F00, #f0b429);
  --act: light-dark(#D55E00, #ff8a3d); --none: light-dark(#59646e, #9aa5af);
  --fine-t: light-dark(#e4f3ee, #163a30); --plan-t: light-dark(#fcedcd, #453410);
  --act-t: light-dark(#fbe0cf, #4f280e); --none-t: var(--paper);
  --lamp: light-dark(#CC79A7, #d88fb9); --lamp-t: light-dark(#f8e8f1, #43283a);}
.train svg {display: block; overflow: visible; height: auto; font-variant-numeric: tabular-nums;}
.train text {fill: var(--ink); font-family: inherit; font-size: 14px;}
.train .name {font-size: 15px; font-weight: 600;}
.train .small {font-size: 13px; fill: var(--soft);}
.train .due {font-weight: 600;}
.train .ol {fill: none; stroke: var(--line); stroke-width: 2; stroke-linejoin: round; stroke-linecap: round;}
.train .bd {stroke: var(--line); stroke-width: 2; stroke-linejoin: round; stroke-linecap: round;
  fill: var(--paper);}
.train .th {stroke: var(--line); stroke-width: 1.25; fill: none; stroke-linecap: round;}
.train .fine {fill: var(--fine-t);} .train .plan {fill: var(--plan-t);} .train .act {fill: var(--act-t);}
.train .po {fill: none; stroke: var(--line); stroke-width: 12; stroke-linejoin: round;}
.train .pi {fill: none; stroke: var(--water); stroke-width: 8.5; stroke-linejoin: round;}
.train .dry {stroke: var(--paper);}
.train .chev {fill: none; stroke: var(--water-ink); stroke-width: 1.6; stroke-linecap: round;
  stroke-linejoin: round;}
.train .w {fill: var(--water);}
.train .wl {fill: none; stroke: var(--water-ink); stroke-width: 1.5; stroke-linecap: round;}
"""
FULL = 0.94  # of the height of a cistern: no drawing is full to the brim


def text(x: float, y: float, words: str, kind: str = "", anchor: str = "start") -> str:
    """Return words at a place."""
    return f'<text class="{kind}" x="{x:g}" y="{y:g}" text-anchor="{anchor}">{escape(words)}</text>'


def at(x: float, y: float, shape: str) -> str:
    """Return a shape moved to its anchor."""
    return f'<g transform="translate({x:g} {y:g})">{shape}</g>'


def path(kind: str, d: str, style: str = "") -> str:
    """Return a path."""
    return f'<path class="{kind}" d="{d}"{style and f" style={style!r}"}/>'.replace("'", '"')


def rect(
    kind: str, x: float, y: float, width: float, height: float, round_: float = 0.0, more: str = ""
) -> str:
    """Return a rectangle, perhaps with round corners."""
    place = f'x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}" rx="{round_:g}"'
    return f'<rect class="{kind}" {place}{more}/>'


def circle(kind: str, x: float, y: float, radius: float) -> str:
    """Return a circle."""
    return f'<circle class="{kind}" cx="{x:g}" cy="{y:g}" r="{radius:g}"/>'


def patterns(name: str) -> str:
    """Return the fills of hatched bars, granules and pleats, named for one picture."""
    return (
        f'<defs><pattern id="{name}-hatch" width="5" height="5" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><rect width="5" height="5" style="fill:var(--paper)"/>'
        '<rect width="1.7" height="5" style="fill:var(--line)"/></pattern>'
        f'<pattern id="{name}-dots" width="6" height="6" patternUnits="userSpaceOnUse">'
        '<circle cx="1.5" cy="1.5" r="1.1" style="fill:var(--line)"/>'
        '<circle cx="4.5" cy="4.5" r="1.1" style="fill:var(--line)"/></pattern>'
        f'<pattern id="{name}-pleat" width="6" height="6" patternUnits="userSpaceOnUse">'
        '<path d="M3 0V6" style="stroke:var(--line);stroke-width:1.2"/></pattern></defs>'
    )


def pipe(points: str, dry: bool = False) -> tuple[str, str]:
    """Return the outline and the water of a pipe; all outlines are drawn before all water."""
    if dry:
        return path("po", points, "stroke-width:8"), path("pi dry", points, "stroke-width:5")
    return path("po", points), path("pi", points)


def chevron(x: float, y: float, turned: int) -> str:
    """Return an arrowhead along a pipe; 0 to the right, 90 down."""
    return (
        f'<path class="chev" transform="translate({x:g} {y:g}) rotate({turned})" d="M-2 -2.6 1.4 0-2 2.6"/>'
    )


def drop(x: float, y: float) -> str:
    """Return a drop of water."""
    return path("w", f"M{x:g} {y:g}q-3.2 5 0 7 3.2 -2 0 -7Z", "stroke:var(--water-ink);stroke-width:1")


def rain(x: float, y: float) -> str:
    """Return a stroke of rain."""
    return path("wl", f"M{x:g} {y:g}l-4 10", "stroke:var(--line)")


def first_flush() -> str:
    """Return the standpipe of the first water off the roof; anchor: its top."""
    return (
        rect("bd", -13, 0, 26, 142, 6) + rect("w", -11.5, 4, 23, 136, 5) + circle("bd", 0, 12, 9)
        + path("bd", "M-6 142h12v6h-12Z") + drop(0, 153)
    )  # fmt: skip


def cistern(level: float, name: str) -> str:
    """Return a cistern filled to a share; anchor: middle of its top, outlet at (67, 136)."""
    top = 158.0 - 150.0 * FULL * min(max(level, 0.02), 1.0)
    wave = f"M-65.5 {top:g}Q-49 {top - 5:g} -33 {top:g}T0 {top:g}T33 {top:g}T65.5 {top:g}"
    return (
        rect("bd", -67, 0, 134, 160, 14)
        + path("w", f"{wave}V146Q65.5 158.5 53 158.5H-53Q-65.5 158.5 -65.5 146Z") + path("wl", wave)
        + path("", "M-64 148H64V150Q61 158 53 158H-53Q-61 158 -64 150Z", f"fill:url(#{name}-dots)")
        + rect("ol", -67, 0, 134, 160, 14) + path("bd", "M-21 -7h42v8h-42Z")
        + path("ol", "M-51 14V152", "stroke-width:3") + circle("bd", 17, top, 7)
        + path("ol", f"M18 {top + 8:g}Q21 {max(top + 30, 118):g} 65 136")
    )  # fmt: skip


def air_gap() -> str:
    """Return a mains pipe that ends above an open tundish of the cistern; anchor: the top of the cistern."""
    return (
        path("ol", "M54 -34H0V-24M-5 -24H5", "stroke-width:3") + path("ol", "M-9 -12L-4 0H4L9 -12")
        + drop(0, -17)
    )  # fmt: skip


def pump(state: str) -> str:
    """Return a pump; anchor: its middle, suction (-22, 0), outlet (0, -22)."""
    return (
        rect(f"bd {state}", 18, -18, 46, 36, 6) + path("th", "M28 -12V12M37 -12V12M46 -12V12M55 -12V12")
        + path("ol", "M28 18V32M56 18V32M-12 18L-16 32M12 18L16 32") + circle(f"bd {state}", 0, 0, 22)
        + path("th", "M0 0Q4 -12 14 -12M0 0Q12 4 12 14M0 0Q-4 12 -14 12M0 0Q-12 -4 -12 -14")
    )  # fmt: skip


def drive() -> str:
    """Return the drive that sets the speed of a pump, on its motor; anchor: that of the pump."""
    return rect("bd", 28, -10, 28, 20, 2) + path("ol", "M32 0q5 -10 10 0t10 0")


def standby(x: float, y: float, anchor: str) -> str:
    """Return a second pump, small, with its name at a place of its own; anchor: its middle."""
    small = rect("bd", 18, -14, 34, 28, 5) + circle("bd", 0, 0, 18) + path("th", "M28 -9V9M36 -9V9M44 -9V9")
    return f'<g transform="scale(.6)">{small}</g>' + text(x, y, "standby", "small", anchor)


def gauge() -> str:
    """Return a pressure gauge; anchor: its middle, stem at (0, 39)."""
    return (
        path("ol", "M0 25v14") + circle("bd", 0, 0, 23)
        + path("", "M-8 -15.6A17.5 17.5 0 0 1 8 -15.6", "fill:none;stroke:var(--fine);stroke-width:4")
        + path("", "M0 0L1.8 -17", "stroke:var(--ink);stroke-width:2.4;stroke-linecap:round")
        + circle("", 0, 0, 3)
    )  # fmt: skip


def tank(state: str) -> str:
    """Return a pressure tank with air over water; anchor: middle of its top, foot at (0, 122)."""
    return (
        path("ol", "M-24 106L-30 168M24 106L30 168") + rect(f"bd {state}", -35, 0, 70, 122, 30)
        + path("w", "M-34 70Q-17 58 0 68T34 66V92Q34 121 4 121H-4Q-34 121 -34 92Z")
        + path("wl", "M-34 70Q-17 58 0 68T34 66")
        + path("ol", "M-35 30Q-35 0 -5 0H5Q35 0 35 30V92Q35 122 5 122H-5Q-35 122 -35 92ZM0 0V-7M-4 -7H4")
        + text(0, 40, "air", "", "middle") + text(0, 98, "water", "on-water", "middle")
    )  # fmt: skip


def housing(state: str, used: float, granular: bool, name: str) -> str:
    """Return a cartridge in its housing, grey as far as it is used; anchor: middle of its head.

    Water comes in at (-34, 0) and leaves at (34, 0).
    """
    fill = f' style="fill:url(#{name}-{"dots" if granular else "pleat"})"'
    grey = 82.0 * min(max(used, 0.0), 1.0)
    return (
        path(f"bd {state}", "M-27 10V92Q-27 116 0 116Q27 116 27 92V10Z")
        + rect("bd", -16, 18, 32, 82, 3, ' style="stroke-width:1.5"') + rect("", -16, 18, 32, 82, 3, fill)
        + rect("", -16, 100 - grey, 32, grey, 0, ' style="fill:var(--line);opacity:.4"')
        + rect("bd", -34, -12, 68, 24, 4) + path("ol", "M0 -12V-17M-6 -17H6")
    )  # fmt: skip


def uv(state: str) -> str:
    """Return a UV chamber; anchor: middle of its top, inlet (-24, 134), outlet (24, 22), sensor (-44, 80)."""
    return (
        rect(f"bd {state}", -24, 0, 48, 160, 12)
        + rect("", -12, 8, 24, 144, 10, ' style="fill:var(--lamp-t);stroke:var(--line);stroke-width:1.25"')
        + rect("", -4.5, 16, 9, 128, 4.5, ' style="fill:var(--lamp)"')
        + rect("bd", -31, 69, 9, 22, 2) + rect("bd", -44, 73, 13, 14, 3) + path("bd", "M-15 0V-7H15V0")
    )  # fmt: skip


def restrictor() -> str:
    """Return a flow restrictor in a level pipe; anchor: its middle."""
    return rect("bd", -15, -11, 30, 22, 3) + path("ol", "M-15 -7Q0 3 15 -7M-15 7Q0 -3 15 7")


def valve(is_open: bool) -> str:
    """Return a valve, shut when it is filled; anchor: its middle."""
    if is_open:
        return path("bd", "M-12 -8V8L12 -8V8Z") + path("ol", "M0 0V-13M-8 -13H8")
    return path("bd", "M-12 -8V8L12 -8V8Z", "fill:var(--line)") + path("ol", "M0 0V-15", "stroke-width:5")


def tap() -> str:
    """Return a tap over a basin; anchor: where water comes in, at its left."""
    return (
        path("bd", "M-8 -8h22q8 0 8 8v10h-9v-7h-21Z") + drop(17, 16) + drop(17, 22)
        + path("bd", "M-16 46h52l-6 22h-40Z")
    )  # fmt: skip


def mark(x: float, y: float, state: str) -> str:
    """Return the mark of a state: ring, half disc or triangle, a dash where nothing is told."""
    if state == "fine":
        return circle("", x, y, 5).replace("/>", ' style="fill:none;stroke:var(--fine);stroke-width:2.4"/>')
    if state == "plan":
        ring = circle("", x, y, 5).replace("/>", ' style="fill:none;stroke:var(--ink);stroke-width:1.6"/>')
        half = f"M{x:g} {y - 5:g}A5 5 0 0 1 {x:g} {y + 5:g}Z"
        return ring + path("", half, "fill:var(--plan);stroke:var(--ink);stroke-width:1.6")
    if state == "act":
        points = f"M{x:g} {y - 6.5:g}L{x + 7:g} {y + 5:g}H{x - 7:g}Z"
        return path("", points, "fill:var(--act);stroke:var(--ink);stroke-width:1.4;stroke-linejoin:round")
    return path("ol", f"M{x - 5:g} {y:g}h10")


def bar(
    x: float, y: float, width: float, low: float, middle: float, high: float, state: str, name: str
) -> str:
    """Return what is left as a bar: solid to the low end, hatched to the high one, a stroke in the middle."""
    low, middle, high = (min(max(share, 0.0), 1.0) * (width - 1.0) for share in (low, middle, high))
    return (
        rect("", x, y, width, 10, 3, ' style="fill:var(--paper);stroke:var(--line)"')
        + rect("", x + 0.5, y + 0.5, low, 9, 2.5, f' style="fill:var(--{state})"')
        + rect("", x + 0.5 + low, y + 0.5, max(high - low, 0.0), 9, 0, f' style="fill:url(#{name}-hatch)"')
        + path("", f"M{x + 0.5 + middle:g} {y - 3:g}v16", "stroke:var(--ink);stroke-width:2.4")
    )  # fmt: skip
