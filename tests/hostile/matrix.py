"""Hostile and odd input, through the program as a user runs it. Arguments: program, configs.

Every case ends within its time with a defined answer: a verdict that is not 'clear', or one line or more on standard
error and exit status 2. Never a signal, never a hang, never more than 500 MB. Where a damage may be harmless (a bit
flipped in a comment) any verdict is right, and the test says so with may_be_clear.
STEPPER_SIM_SLOW_BUILD=1 (sanitizers) allows more time and any memory.
"""

import os
import pathlib
import random
import re
import resource
import signal
import subprocess
import sys
import tempfile
import time
import unittest

PROGRAM, CONFIGS = sys.argv[1:3]
SLOW = os.environ.get("STEPPER_SIM_SLOW_BUILD") == "1"
MOST_S = 60.0 if SLOW else 10.0  # to find hangs; a busy machine may take a few times the 2 s that are allowed on an idle one
MOST_KB = 500_000
STRIDE = 3 if SLOW else 2  # of the large matrices: 1 tries all of them, in twice the time
MACHINE = pathlib.Path(CONFIGS, "machines", "label-plotter.toml").read_text()
SQUARE = "G21 G90\nG1 Z2 F300\nX5 Y5 F2400\nX15\nY15\nX5\nY5\n"  # every axis of the machine


def run(*arguments, folder, seconds=MOST_S):
    started = time.monotonic()
    process = subprocess.Popen([PROGRAM, *arguments, "--catalogue", CONFIGS], cwd=folder, stdin=subprocess.DEVNULL,
                               stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    try:
        out, err = process.communicate(timeout=seconds)
    except subprocess.TimeoutExpired:
        process.kill()
        process.communicate()
        raise AssertionError(f"still running after {time.monotonic() - started:.0f} s: {arguments}")
    return process.returncode, out.decode("utf-8", "replace"), err.decode("utf-8", "replace")


class Case(unittest.TestCase):
    def setUp(self):
        self.keep = tempfile.TemporaryDirectory()
        self.folder = pathlib.Path(self.keep.name)
        self.addCleanup(self.keep.cleanup)

    def write(self, name, text):
        (self.folder / name).write_bytes(text if isinstance(text, bytes) else text.encode())
        return name

    def check(self, machine=MACHINE, program=SQUARE, may_be_clear=False):
        self.write("machine.toml", machine)
        self.write("program.gcode", program)
        return self.answer(may_be_clear, "check", "machine.toml", "program.gcode")

    def check_alone(self, machine, may_be_clear=False):
        """The machine without a program: moves of the tool's own."""
        self.write("machine.toml", machine)
        return self.answer(may_be_clear, "check", "machine.toml")

    def answer(self, may_be_clear, *arguments, seconds=MOST_S):
        code, out, err = run(*arguments, folder=self.folder, seconds=seconds)
        self.assertIn(code, (0, 1, 2), err)
        if code == 2:
            self.assertEqual(out, "")
            self.assertRegex(err, r"^stepper_sim: \S")
            self.assertNotIn("internal error", err)
        elif not may_be_clear:
            self.assertFalse(out.startswith("clear"), out[:200])
        for text in (out, err):
            self.assertIsNone(re.search(r"[\x00-\x08\x0b-\x1f\x7f]", text), "control characters reach the terminal")
        return code, out, err

    def refused(self, **given):
        code, out, err = self.check(**given)
        self.assertEqual(code, 2, out[:200])
        return err


class TheUndamagedPair(Case):
    def test_is_clear(self):  # else nothing below would show anything
        code, out, _ = self.check(may_be_clear=True)
        self.assertEqual(code, 0)
        self.assertTrue(out.startswith("clear"), out)


class MachineFiles(Case):
    def test_cut_anywhere_before_its_last_required_value(self):
        needed = MACHINE.rindex('speed_step = "1 mm/s"')
        for at in range(0, needed, 53 * STRIDE):
            with self.subTest(at=at):
                self.refused(machine=MACHINE[:at])

    def test_cut_later(self):
        for at in range(MACHINE.rindex("}"), len(MACHINE), 11):
            self.check(machine=MACHINE[:at], may_be_clear=True)

    def test_bits_flipped(self):
        draw = random.Random(5)
        data = MACHINE.encode()
        for _ in range(60 // STRIDE):
            damaged = bytearray(data)
            for _ in range(draw.randint(1, 3)):
                damaged[draw.randrange(len(damaged))] ^= 1 << draw.randrange(8)
            self.check(machine=bytes(damaged), may_be_clear=True)
            self.check_alone(bytes(damaged), may_be_clear=True)

    def test_values_that_no_machine_has(self):
        """Every number and every quantity of the file in turn: none yields clear."""
        places = {"travel", "start", "home", "work_offset", "x", "y", "z"}  # any small number is a place
        harmless_at_zero = places | {"friction", "lookahead_moves", "speed_step"}
        values = re.finditer(r'([a-z_]+) = (?:\{ )?(?:\w+ = )?(\[?"?)(-?[\d.]+)((?: [A-Za-z^/\d ]+)?"?)', MACHINE)
        seen = 0
        for value in list(values)[::STRIDE]:
            seen += 1
            key, number = value.group(1), value.span(3)
            for nonsense in ("-7", "nan", "1e400", "1e300", "1e-310", "0", "+-3"):
                small = nonsense in ("0", "1e-310")
                with self.subTest(key=key, value=nonsense):
                    damaged = MACHINE[: number[0]] + nonsense + MACHINE[number[1] :]
                    may_be_clear = small and key in harmless_at_zero or key in places and nonsense == "-7"
                    self.check(machine=damaged, may_be_clear=may_be_clear)
                    self.check_alone(damaged, may_be_clear)
        self.assertGreater(seen, 30 // STRIDE)

    def test_contradictions(self):
        for old, new in (
            ('travel = ["0 mm", "300 mm"]', 'travel = ["300 mm", "0 mm"]'),
            ('travel = ["0 mm", "300 mm"]', 'travel = ["0 mm", "0 mm"]'),
            ("steps_per_mm = 100", "steps_per_mm = 50"),
            ("microsteps = 16", "microsteps = 17"),
            ("pulley_teeth = 16", "pulley_teeth = 0"),
            ("pulley_teeth = 16", "pulley_teeth = 16.5"),
            ('supply = "12 V"', 'supply = "0 V"'),
            ('mass = "0.14 kg"', 'mass = "-0.14 kg"'),
            ('current = { peak = "1.2 A" }', 'current = { peak = "1.2 A", rms = "1.2 A" }'),
            ('kinematics = "cartesian"', 'kinematics = "crossed-belt"\nkinematics = "cartesian"'),
            ("efficiency = 0.35", "efficiency = 1.35"),
        ):
            with self.subTest(new=new):
                self.assertIn(old, MACHINE)
                damaged = MACHINE.replace(old, new, 1)
                self.check(machine=damaged)
                self.check_alone(damaged)
                if not SLOW:  # where it searches, it simulates a lot
                    _, out, _ = self.answer(True, "limits", "machine.toml", "--write", "other.toml", seconds=12 * MOST_S)
                    self.assertNotIn("`check` says clear", out)

    def test_part_files_that_name_themselves_or_each_other(self):
        machine = MACHINE.replace('"drivers/a4988.toml"', '"drivers/loop.toml"')
        (self.folder / "drivers").mkdir()
        self.write("drivers/loop.toml", 'part = "drivers/loop.toml"\n')
        self.refused(machine=machine)
        self.write("drivers/loop.toml", 'part = "drivers/other.toml"\n')
        self.write("drivers/other.toml", 'part = "drivers/loop.toml"\n')
        self.refused(machine=machine)

    def test_a_part_file_that_cannot_be_read(self):
        machine = MACHINE.replace('"drivers/a4988.toml"', '"drivers/odd.toml"')
        odd = self.folder / "drivers" / "odd.toml"
        odd.mkdir(parents=True)
        self.refused(machine=machine)
        odd.rmdir()
        odd.symlink_to(odd)
        self.refused(machine=machine)
        odd.unlink()
        os.mkfifo(odd)
        self.refused(machine=machine)

    def test_deep_nesting_and_long_lines(self):
        self.refused(machine="a = " + "[" * 1_000_000)
        self.refused(machine="a = " + "{ b = " * 100_000)
        self.refused(machine='name = "' + "x" * 10_000_000)
        self.refused(machine=MACHINE + "\n" + "".join(f"key{i} = {i}\n" for i in range(100_000)))
        self.refused(machine="[axes.x]\n" * 50_000)


class Programs(Case):
    def test_cut_anywhere(self):
        text = pathlib.Path(CONFIGS, "programs", "seed-labels.gcode").read_text()[:2500]
        for at in range(0, len(text), 61 * STRIDE):
            with self.subTest(at=at):
                self.check(program=text[:at], may_be_clear=True)

    def test_bits_flipped(self):
        draw = random.Random(6)
        data = (SQUARE * 20).encode()
        for _ in range(60 // STRIDE):
            damaged = bytearray(data)
            for _ in range(draw.randint(1, 4)):
                damaged[draw.randrange(len(damaged))] ^= 1 << draw.randrange(8)
            self.check(program=bytes(damaged), may_be_clear=True)

    def test_numbers_no_machine_can_follow(self):
        for number in ("1e308", "9" * 400, "-" + "9" * 400, "nan", "inf", "0x10", "1e-320", "--5", "5..5", "+", ".", "1e", "1,5"):
            for word in ("X", "F", "G", "M", "P"):
                with self.subTest(word=word, number=number):
                    # A feed is clamped; M5..5 and M1,5 are M words with text after them; G0x10 is G0 X10.
                    harmless = number in ("1e-320", "0x10") or word in "FPM"
                    self.check(program=f"G21 G90\nG1 X10 F600\n{word}{number}\nX20\n", may_be_clear=harmless)

    def test_arcs_without_shape(self):
        for arc in ("G2 X10 Y10", "G2 X10 Y10 I0 J0", "G2 X10 Y10 R0", "G2 X10 Y10 R1e300", "G2 X50 Y10 R1", "G3 I1e9 J1e9 X10.001 Y10",
                    "G2 X10 Y10 I5 J5 K5 R5", "G2 I-1e-12 X10 Y10"):
            with self.subTest(arc=arc):
                self.check(program=f"G21 G90 G17\nG1 X10 Y10 F600\n{arc}\n", may_be_clear=True)

    def test_depth_length_and_number(self):
        self.refused(program="G1 X" + "[" * 1_000_000 + "1" + "]" * 1_000_000 + "\n")
        self.refused(program="(" + "x" * 10_000_000 + "\n" + SQUARE)
        self.refused(program="X" * 10_000_000)
        self.check(program=SQUARE + "".join(f"M{100 + i}\n" for i in range(100_000)), may_be_clear=True)
        self.refused(program=SQUARE + "G1 F600 " + "X1 " * 1000 + "\n")
        self.check(program="".join(f"#{i}={i}\n" for i in range(1, 5000)) + SQUARE, may_be_clear=True)

    def test_nothing_that_moves(self):
        for program in ("", "\n", "%\n%\n", "(only a comment)\n", "M2\n", "G4 P1\n", "\0\0\0\0", "\xff\xfe\x00G"):
            with self.subTest(program=program):
                self.refused(program=program)

    def test_a_cruise_of_minutes_above_the_corner_speed(self):
        """On an axis without travel: simulated for as long as it tells something, and the rest is a risk."""
        machine = MACHINE.replace('travel = ["0 mm", "300 mm"]\n', "", 1).replace('max_speed = "120 mm/s"', 'max_speed = "300 mm/s"', 1)
        _, out, _ = self.check(machine=machine, program="G21 G90\nG1 X60000 F18000\n")
        self.assertIn("was not looked at", " ".join(out.split()))

    def test_out_of_travel_is_never_clear(self):
        for program in ("G21 G90\nG1 X1000 F600\n", "G20 G90\nG1 X60 F600\n", "G21 G91\nG1 X-100 F600\n"):
            self.check(program=program)


class Files(Case):
    def test_machine_and_program_that_are_no_files(self):
        self.write("machine.toml", MACHINE)
        self.write("program.gcode", SQUARE)
        (self.folder / "folder").mkdir()
        (self.folder / "loop").symlink_to("loop")
        os.mkfifo(self.folder / "pipe")
        for odd in ("folder", "loop", "pipe", "missing", "/dev/zero", "/proc/self/mem"):
            for arguments in (("check", odd), ("check", "machine.toml", odd), ("pulses", "machine.toml", odd), ("rates", odd), ("torque", odd)):
                with self.subTest(arguments=arguments):
                    code, out, err = run(*arguments, folder=self.folder)
                    self.assertEqual(code, 2, err)
                    if arguments != ("check", "machine.toml", "folder"):  # there the machine is judged beside the empty folder
                        self.assertEqual(out, "", err)
        code, _, _ = run("check", "program.gcode", "machine.toml", folder=self.folder)
        self.assertEqual(code, 2)

    def test_output_that_cannot_be_written(self):
        self.write("machine.toml", MACHINE)
        self.write("program.gcode", SQUARE)
        (self.folder / "folder").mkdir()
        for target in ("/dev/full", "/nonexistent/out", "folder"):
            for arguments in (("check", "machine.toml", "program.gcode", "--json"), ("pulses", "machine.toml", "program.gcode", "--vcd"),
                              ("pulses", "machine.toml", "program.gcode", "--csv"), ("rates", "machine.toml", "--json"),
                              ("torque", "machine.toml", "--plot")):
                with self.subTest(target=target, arguments=arguments):
                    code, _, err = run(*arguments, target, folder=self.folder)
                    self.assertEqual(code, 2, err)
        self.assertEqual(sorted(p.name for p in self.folder.iterdir()), ["folder", "machine.toml", "program.gcode"])
        self.assertEqual(list((self.folder / "folder").iterdir()), [])

    def test_an_interrupt_leaves_nothing_half_written(self):
        self.write("machine.toml", MACHINE)
        self.write("program.gcode", SQUARE * 3000)
        self.write("out.csv", "old\n")
        for stop in (signal.SIGINT, signal.SIGTERM):
            with self.subTest(signal=stop):
                process = subprocess.Popen([PROGRAM, "pulses", "machine.toml", "program.gcode", "--csv", "out.csv", "--catalogue", CONFIGS],
                                           cwd=self.folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
                deadline = time.monotonic() + MOST_S
                while not any(p.stat().st_size > 0 for p in self.folder.glob("out.csv.*")) and time.monotonic() < deadline:
                    time.sleep(0.002)
                self.assertIsNone(process.poll(), "over before it could be interrupted")
                process.send_signal(stop)
                self.assertNotEqual(process.wait(MOST_S), 0)
                self.assertEqual((self.folder / "out.csv").read_text(), "old\n")
                self.assertEqual(sorted(p.name for p in self.folder.iterdir()), ["machine.toml", "out.csv", "program.gcode"])


class Memory(unittest.TestCase):
    """Last: the largest of all the runs before."""

    def test_no_run_took_more_than_its_share(self):
        if SLOW:
            self.skipTest("sanitizers keep freed memory")
        self.assertLess(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss, MOST_KB)


if __name__ == "__main__":
    order = unittest.TestSuite()
    for case in (TheUndamagedPair, MachineFiles, Programs, Files, Memory):
        order.addTests(unittest.defaultTestLoader.loadTestsFromTestCase(case))
    result = unittest.TextTestRunner(verbosity=1).run(order)
    sys.exit(not result.wasSuccessful())
