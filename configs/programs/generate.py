#!/usr/bin/env python3
"""Writes the example programs of the Alder Street seed library.

    python3 configs/programs/generate.py [FOLDER]      default: the folder of this file

Same output on every run and machine: no clock, no random numbers, numbers printed with fixed decimals. The committed programs
are its output and a test compares them, so change this file, run it, and commit both. Words from M7401 up are this library's
own; the machine files in configs/machines say what they mean.
"""
import math
import sys
from pathlib import Path


class Program:
    """Collects lines; leaves out words that repeat, as most programs do."""

    def __init__(self, title, machine, decimals=3):
        self.lines = [f"; {title}", f"; for {machine}; written by generate.py"]
        self.decimals = decimals
        self.feed = None

    def add(self, *lines):
        self.lines.extend(lines)

    def number(self, value, decimals=None):
        text = f"{value:.{self.decimals if decimals is None else decimals}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return "0" if text in ("-0", "") else text

    def move(self, word, feed=None, **axes):
        parts = [word]
        parts += [f"{axis.upper()}{self.number(value)}" for axis, value in axes.items() if value is not None]
        if feed is not None and feed != self.feed:
            parts.append(f"F{self.number(feed, 2)}")
            self.feed = feed
        self.add(" ".join(parts))

    def text(self):
        return "\n".join(self.lines) + "\n"


class Printer(Program):
    """A program with filament: every printed move carries E, the length of filament that fills the line."""

    WIDTH_MM, RETRACT_MM, FILAMENT_MM = 0.52, 1.1, 1.75

    def __init__(self, title, machine, layer_mm):
        super().__init__(title, machine)
        self.layer_mm, self.x, self.y, self.e = layer_mm, 0.0, 0.0, 0.0
        self.per_mm = self.WIDTH_MM * layer_mm / (math.pi * self.FILAMENT_MM**2 / 4)
        self.add("M7404 heating", "M7402 S60", "M7401 S205", "M7405", "G21", "G90", "G28", "G92 E0", "M7407", "M7403 S80")

    def travel(self, x, y, retract=False):
        if retract:
            self.add(f"G1 E{self.number(self.e - self.RETRACT_MM, 4)} F1500")
        self.move("G0", x=x, y=y)
        if retract:
            self.add(f"G1 E{self.number(self.e, 4)} F1500")
        self.feed = None
        self.x, self.y = x, y

    def draw(self, x, y, feed):
        self.e += math.hypot(x - self.x, y - self.y) * self.per_mm
        parts = f"G1 X{self.number(x)} Y{self.number(y)} E{self.number(self.e, 4)}"
        if feed != self.feed:
            parts += f" F{self.number(feed, 2)}"
            self.feed = feed
        self.add(parts)
        self.x, self.y = x, y

    def loop(self, points, feed):
        self.travel(*points[0], retract=True)
        for point in points[1:] + points[:1]:
            self.draw(*point, feed)

    def layer(self, index):
        self.add(f"; layer {index + 1}")
        self.move("G1", z=(index + 1) * self.layer_mm, feed=480)
        self.feed = None

    def finish(self, height):
        self.add(f"G1 E{self.number(self.e - 2.6, 4)} F1500", f"G0 Z{self.number(height + 20)}", "G0 X0 Y185",
                 "M7401 S0", "M7402 S0", "M7403 S0", "M7404 take the part off when cool", "M2")


def rounded_rectangle(x0, y0, x1, y1, radius, per_corner=6):
    """Corner points, counter-clockwise from the lower left corner's end."""
    points = []
    for cx, cy, start in ((x1 - radius, y0 + radius, -90), (x1 - radius, y1 - radius, 0),
                          (x0 + radius, y1 - radius, 90), (x0 + radius, y0 + radius, 180)):
        for step in range(per_corner + 1):
            angle = math.radians(start + 90 * step / per_corner)
            points.append((cx + radius * math.cos(angle), cy + radius * math.sin(angle)))
    return points


def diagonal_fill(x0, y0, x1, y1, spacing, rising):
    """End points of 45 degree lines across a rectangle, run back and forth."""
    points, offset, flip = [], spacing, False
    while offset < (x1 - x0) + (y1 - y0):
        low = (x0 + max(0.0, offset - (y1 - y0)), y0 + min(offset, y1 - y0))
        high = (x0 + min(offset, x1 - x0), y0 + max(0.0, offset - (x1 - x0)))
        line = [high, low] if flip else [low, high]
        points += line if rising else [(x0 + x1 - x, y) for x, y in line]
        offset, flip = offset + spacing, not flip
    return points


def tray_insert():
    """A seed-tray insert: a floor of two layers, an outer wall and twelve cells."""
    p = Printer("seed-tray insert, 4 x 3 cells", "a printer", 0.3)
    left, front, cell, columns, rows, layers = 40.0, 50.0, 28.0, 4, 3, 9
    right, back = left + columns * cell, front + rows * cell
    for layer in range(layers):
        p.layer(layer)
        slow = 1200 if layer == 0 else 3000
        for inset in (p.WIDTH_MM, 0.0):
            p.loop(rounded_rectangle(left + inset, front + inset, right - inset, back - inset, 4 - inset), slow)
        if layer < 2:
            fill = diagonal_fill(left + 1, front + 1, right - 1, back - 1, 0.7, layer == 0)
            p.travel(*fill[0], retract=True)
            for point in fill[1:]:
                p.draw(*point, 1500 if layer == 0 else 4800)
            continue
        for row in range(rows):
            for column in range(columns):
                x, y = left + column * cell, front + row * cell
                p.loop(rounded_rectangle(x + 1, y + 1, x + cell - 1, y + cell - 1, 5, 4), 3600)
    p.finish(layers * p.layer_mm)
    return p


def wedge_marker():
    """A plant marker that tapers to a point, filled across with one line back and forth. As the part narrows the strokes along y
    shorten and reverse ever faster: somewhere along the taper the reversals meet the frequency at which the bed swings."""
    p = Printer("wedge marker, tapering fill", "a moving-bed printer", 0.25)
    left, middle, length, spacing, layers = 50.0, 110.0, 110.0, 0.22, 4
    widest, narrowest = 5.0, 0.06

    def half(x):
        return (widest + (narrowest - widest) * (x - left) / length) / 2

    for layer in range(layers):
        p.layer(layer)
        edge = 0.3
        p.loop([(left, middle - half(left) - edge), (left + length, middle - half(left + length) - edge),
                (left + length, middle + half(left + length) + edge), (left, middle + half(left) + edge)], 2400)
        p.travel(left, middle - half(left))
        side = 1
        for stroke in range(1, int(round(length / spacing))):
            x = left + stroke * spacing
            p.draw(x, middle + side * half(x), 3600)
            side = -side
    p.finish(layers * p.layer_mm)
    return p


def oak_tag(inch):
    """An oak bed tag: a lettered groove, a hanging hole bored by a helix and the outline cut in passes with rounded corners."""
    scale = 1 / 25.4 if inch else 1.0
    p = Program(f"oak bed tag, {'inch' if inch else 'millimetres'}", "the tag router", 4 if inch else 3)
    p.add("G20" if inch else "G21", "G17", "G90", "G94", "M3 S16000", "G4 P2")

    def go(word, feed=None, **axes):
        p.move(word, feed * scale if feed else None, **{k: v * scale for k, v in axes.items()})

    go("G0", z=5)
    # A wave as a groove: quarter arcs left and right, then the same wave in short lines one line lower.
    go("G0", x=15, y=22)
    go("G1", 240, z=-0.8)
    for wave in range(8):
        go("G2" if wave % 2 == 0 else "G3", 900, x=15 + 7 * (wave + 1), y=22, i=3.5, j=0)
    go("G0", z=2)
    go("G0", x=15, y=12)
    go("G1", 240, z=-0.8)
    for step in range(1, 225):
        go("G1", 900, x=15 + 0.25 * step, y=12 + 3 * math.sin(math.radians(25.7142857 * step * 0.25)))
    go("G0", z=2)
    # Hole of 8 mm with a 3 mm cutter: eight turns of 0.8 mm and one flat, then out.
    go("G0", x=88.5, y=17)
    go("G1", 300, z=0.2)
    for turn in range(8):
        go("G3", 500, x=88.5, y=17, z=-0.8 * (turn + 1), i=-2.5, j=0)
    go("G3", 500, x=88.5, y=17, i=-2.5, j=0)
    go("G0", z=2)
    # Outline 100 mm x 34 mm, corners of 6 mm, cutter outside by 1.5 mm, entered by a ramp along the first side.
    low, right, high, radius = -1.5, 101.5, 35.5, 7.5
    go("G0", x=low + radius, y=low)
    for depth in (1.6, 3.2, 4.8, 6.4):
        go("G1", 400, x=40, z=-depth)
        go("G1", 700, x=right - radius)
        go("G3", x=right, y=low + radius, i=0, j=radius)
        go("G1", y=high - radius)
        go("G3", x=right - radius, y=high, i=-radius, j=0)
        go("G1", x=low + radius)
        go("G3", x=low, y=high - radius, i=0, j=-radius)
        go("G1", y=low + radius)
        go("G3", x=low + radius, y=low, i=radius, j=0)
    go("G1", x=40)
    go("G0", z=5)
    p.add("M5")
    go("G0", x=0, y=0)
    p.add("M2")
    return p


def drill_tags():
    """Four blank tags drilled with a canned cycle: two peg holes each and a row of pinholes by repeated relative moves."""
    p = Program("peg holes and pinholes in four tags", "the tag router")
    p.add("G21", "G17", "G90", "G94", "M3 S9000", "G4 P2", "G0 Z12")
    for tag in range(4):
        y = 12 + 30 * tag
        p.add(f"( tag {tag + 1} )", f"G98 G81 X8 Y{y} Z-9 R2 F180", "X92", "G80")
        p.add(f"G0 X20 Y{y + 6}", "G0 Z2", "G91", "G99 G81 X5 Y0 Z-3.5 R-1 F240 L12", "G80", "G90", "G0 Z12")
    p.add("M5", "G0 X0 Y0", "M2")
    return p


# Letters as strokes on a grid 4 wide and 6 high: points are two digits, strokes are separated by commas.
LETTERS = {
    "A": "00 26 40,12 32", "B": "00 06 26 35 34 23 03,23 42 41 30 00", "C": "45 36 16 05 01 10 30 41",
    "D": "00 06 26 44 42 20 00", "E": "46 06 00 40,03 33", "G": "45 36 16 05 01 10 30 41 43 23", "I": "20 26",
    "K": "06 00,46 02,13 40", "L": "06 00 40", "N": "00 06 40 46", "O": "10 01 05 16 36 45 41 30 10",
    "P": "00 06 36 45 44 33 03", "R": "00 06 36 45 44 33 03,23 40", "S": "45 36 16 05 04 13 33 42 41 30 10 01",
    "T": "06 46,26 20", "Y": "06 23 46,23 20",
}


def labels():
    """Twelve seed labels: a frame, a leaf made of a spiral in very short moves, and the name in strokes. The pen draws with G0."""
    p = Program("seed labels", "the label plotter")
    p.add("G21", "G90", "M7404 fit the pen", "G0 Z3 F480")
    p.feed = 480

    def pen_up():
        p.move("G1", 480, z=3)

    def pen_down(x, y):
        p.move("G1", 18000, x=x, y=y)
        p.move("G1", 480, z=0)

    names = ["KALE", "BORAGE", "PEA", "DOCK", "CORN", "TANSY", "BEET", "ONION", "CLARY", "POTATO", "OATS", "CARROT"]
    for index, name in enumerate(names):
        x0, y0 = 4 + 90 * (index % 3), 4 + 42 * (index // 3)
        frame = rounded_rectangle(x0, y0, x0 + 84, y0 + 36, 5, 8)
        pen_down(*frame[0])
        for point in frame[1:] + frame[:1]:
            p.move("G0", 18000, x=point[0], y=point[1])
        pen_up()
        turns, per_turn, reach = 9, 72, 12.5
        pen_down(x0 + 18, y0 + 18)
        for step in range(1, turns * per_turn + 1):
            angle, radius = 2 * math.pi * step / per_turn, reach * step / (turns * per_turn)
            p.move("G1", 18000, x=x0 + 18 + radius * math.cos(angle), y=y0 + 18 + 0.75 * radius * math.sin(angle))
        pen_up()
        size = 1.3
        for place, letter in enumerate(name):
            for stroke in LETTERS[letter].split(","):
                points = [(x0 + 35 + place * 7.5 + size * int(point[0]), y0 + 14 + size * int(point[1]))
                          for point in stroke.split()]
                pen_down(*points[0])
                for point in points[1:]:
                    p.move("G0", 18000, x=point[0], y=point[1])
                pen_up()
    p.move("G1", 18000, x=0, y=0)
    p.add("M2")
    return p


PROGRAMS = {
    "tray-insert.gcode": tray_insert,
    "wedge-marker.gcode": wedge_marker,
    "oak-tag-mm.gcode": lambda: oak_tag(inch=False),
    "oak-tag-inch.gcode": lambda: oak_tag(inch=True),
    "drill-tags.gcode": drill_tags,
    "seed-labels.gcode": labels,
}


def main():
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent
    for name, build in PROGRAMS.items():
        (folder / name).write_bytes(build().text().encode("ascii"))


if __name__ == "__main__":
    main()
