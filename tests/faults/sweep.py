#!/usr/bin/env python3
"""Lets every step of every command fail in turn, and judges how the program ends.

  sweep.py PROGRAM FAULTS SOURCE [--quick] [--command NAME] [--kind KIND] [--most COUNT] [--seed NUMBER]

PROGRAM is seamwright, FAULTS the library made of faults.c, SOURCE the project's folder. Of every kind of call as many
are tried as the limit for that kind says, spread evenly over all there are, with chance (seeded) inside each part; all of
them where there are fewer. --quick: the few that a test run can wait for. --most overrides the limits.

What is right:
  status 2            one line on standard error; every folder holds the old result or the new one, whole, byte for byte
  status 0 or 1       only as the run without a fault; the same words on standard output, the same files, byte for byte
  killed, or a        status 2 and the same; what the run left behind is gone after the same command is run again, and the
  library aborted     result of that is the new one, whole
"""
import argparse
import errno
import os
import random
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import time

KINDS = ["alloc", "write", "sync", "open", "mkdir", "link", "rename", "unlink", "start"]
# Where the letters come from. What of it may not be read is how the system is: others are drawn then, which is no fault.
LETTERS = ("/etc/fonts", "/usr/share/font", "/usr/local/share/font", "/var/cache/fontconfig")
PICTURES = {"out/overlay.png", "out/report.html", "out/strips.pdf", "out.pdf"}
PATH_ROOM = 256  # as in faults.c
NEVER_ENDS_S = 20  # a run takes a second at most

# What strikes, for each kind, and how many places are tried: (quick, full). Allocations are the many.
FAULTS = {
    "alloc": [("12", 3, 250), ("12+", 2, 120), ("exit", 1, 20)],
    "write": [("28", 2, 60), ("28+", 1, 40), ("5", 1, 30)],
    "sync": [("5", 1, 99)],
    "open": [("24", 1, 99), ("13", 1, 99)],
    "mkdir": [("28", 1, 99)],
    "link": [("28", 1, 99), ("1", 1, 99)],
    "rename": [("28", 1, 99), ("5", 1, 99), ("before", 2, 99), ("after", 2, 99)],
    "unlink": [("5", 1, 99), ("before", 1, 99), ("after", 1, 99)],
    "start": [("12", 2, 9)],
}


def read(path):
    with open(path, "rb") as file:
        return file.read()


class Command:
    """A command with the folder it works in: `lay` puts the inputs and an older result there."""

    def __init__(self, name, words, lay):
        self.name, self.words, self.lay = name, words, lay


def snapshot(folder):
    """Every file's bytes and every folder, by name."""
    found = {}
    for at, folders, files in os.walk(folder):
        for name in folders:
            found[os.path.relpath(os.path.join(at, name), folder)] = None
        for name in files:
            path = os.path.join(at, name)
            found[os.path.relpath(path, folder)] = read(path)
    return found


def without_leftovers(tree):
    """A tree without what a dead run left beside or in a folder: names that hold .part-."""
    return {name: bytes_ for name, bytes_ in tree.items() if ".part-" not in name}


class Bench:
    """One command, its pristine folder, and how it ends without a fault."""

    def __init__(self, program, faults, command, room):
        self.program, self.faults, self.command, self.room = program, faults, command, room
        self.old_folder = os.path.join(room, command.name + ".old")
        self.folder = os.path.join(room, "work")
        self.counts, self.out, self.said = (os.path.join(room, name) for name in ("counts", "out", "said"))
        os.mkdir(self.old_folder)
        command.lay(self.old_folder)
        self.old = snapshot(self.old_folder)
        self.fresh()
        self.right = self.run("none:0:0")
        self.calls = self.struck()[:-1]
        self.new = snapshot(self.folder)
        if self.right[0] not in (0, 1):
            sys.exit(f"{command.name}: without a fault it ends with {self.right[0]}: {self.right[2]}")
        if self.new == self.old:
            sys.exit(f"{command.name}: the new result is the old one, so nothing can be told")
        self.fresh()
        if self.run("none:0:0") != self.right or snapshot(self.folder) != self.new:
            sys.exit(f"{command.name}: two runs differ")

    def fresh(self):
        shutil.rmtree(self.folder, ignore_errors=True)
        shutil.copytree(self.old_folder, self.folder)

    def run(self, fault):
        with open(self.counts, "wb") as file:
            file.write(bytes(8 * (len(KINDS) + 1) + PATH_ROOM))
        environment = dict(os.environ, LD_PRELOAD=self.faults, FAULT=fault, FAULT_COUNTS=self.counts)
        try:
            with open(self.out, "w+b") as out, open(self.said, "w+b") as said:  # pipes do not run full
                done = subprocess.run([self.program] + self.command.words, cwd=self.folder, env=environment,
                                      stdout=out, stderr=said, timeout=NEVER_ENDS_S, check=False)
                return (done.returncode, read(self.out), read(self.said))
        except subprocess.TimeoutExpired:
            return ("hangs", b"", b"")

    def struck(self):
        return struct.unpack(f"{len(KINDS) + 1}Q", read(self.counts)[:-PATH_ROOM])

    def file(self):
        """The file whose opening was struck, or ""."""
        return read(self.counts)[-PATH_ROOM:].split(b"\0")[0].decode()

    def judge(self, got, may_leave, other_letters):
        """What is wrong with an end, or None. may_leave: this fault keeps the run from tidying up; other_letters: and this
        one leaves pictures with letters of another font."""
        status, out, said = got
        tree = snapshot(self.folder)
        plain = without_leftovers(tree)
        self.left = plain != tree
        died = b"seamwright: ran out of memory" in said or b"seamwright: cannot open any more files" in said
        if status in (0, 1):
            if got != self.right:
                return f"ends with {status} and other words than without a fault: {said!r}"
            if differing(plain, self.new) and not (other_letters and PICTURES.issuperset(differing(plain, self.new))):
                return f"ends with {status} and other files than without a fault: {differing(plain, self.new)}"
        elif status == 2:
            lines = [line for line in said.split(b"\n") if line and line not in self.right[2].split(b"\n")]
            if len(lines) != 1 or not said.endswith(b"\n"):
                return f"says {len(lines)} lines: {said!r}"
            if plain not in (self.old, self.new):
                return f"leaves neither the old nor the new result: {differing(plain, self.old)}"
        else:
            return f"ends with {status}, says {said!r}"
        if plain != tree and not died and not may_leave:
            return f"ends with {status} and leaves something behind: {sorted(set(tree) - set(plain))}"
        return self.judge_again() if plain != tree or may_leave else None

    def judge_again(self):
        """The same command after one that could not tidy up."""
        got = self.run("none:0:0")
        if got[:2] != self.right[:2] or snapshot(self.folder) != self.new:
            return f"run again: ends with {got[0]}, {differing(snapshot(self.folder), self.new)}"
        return None


def differing(tree, wanted):
    return sorted(name for name in set(tree) | set(wanted) if tree.get(name, b"no") != wanted.get(name, b"no"))[:8]


def places(count, most, chance):
    """`most` numbers from 1 to count, one from every equal part; all where there are no more."""
    if count <= most:
        return list(range(1, count + 1))
    return [1 + int((i + chance.random()) * count / most) for i in range(most)]


def sweep(bench, kinds, quick, most, chance, tally):
    for kind in kinds:
        count = bench.calls[KINDS.index(kind)]
        for what, few, many in FAULTS[kind]:
            for at in places(count, most or (few if quick else many), chance):
                bench.fresh()
                fault = f"{kind}:{at}:{what}"
                got = bench.run(fault)
                if not bench.struck()[-1]:
                    tally.missed += 1
                    continue
                file = bench.file()
                wrong = bench.judge(got, kind in ("unlink", "open") or what in ("before", "after", "12+"),
                                    what == "13" and file.startswith(LETTERS))
                tally.add(bench.command.name, kind, got[0], wrong, bench.left)
                if wrong:
                    print(f"FAIL: {bench.command.name} {fault} {file}: {wrong}", flush=True)


class Tally:
    def __init__(self):
        self.cells, self.missed, self.wrong = {}, 0, 0

    def add(self, command, kind, status, wrong, left):
        cell = self.cells.setdefault((command, kind),
                                     {"tried": 0, "refused": 0, "survived": 0, "wrong": 0, "left": 0})
        cell["tried"] += 1
        cell["left"] += left
        cell["wrong" if wrong else "refused" if status == 2 else "survived"] += 1
        self.wrong += wrong is not None

    def show(self):
        print("command   kind      tried  status 2  survived  wrong  left to the next run")
        for (command, kind), cell in self.cells.items():
            print(f"{command:9} {kind:8} {cell['tried']:6} {cell['refused']:9} {cell['survived']:9} {cell['wrong']:6} "
                  f"{cell['left']:6}")
        total = sum(cell["tried"] for cell in self.cells.values())
        print(f"{total} faults, {self.wrong} wrong; {self.missed} places were not reached")


def commands(program, source, room):
    """The six commands, each over an older result that differs from the one it makes."""
    def seamwright(*words):
        done = subprocess.run([program, *words], cwd=room, capture_output=True, check=False)
        if done.returncode not in (0, 1):
            sys.exit(f"seamwright {' '.join(words)}: {done.stderr.decode()}")

    photo, other = (os.path.join(source, "samples", name) for name in ("ferry-1.jpg", "ferry-2.jpg"))
    boards = [os.path.join(source, "samples", "lens", f"board{i}.jpg") for i in range(1, 4)]
    reference = ["-r", "80/48"]
    for name in (photo, other):
        seamwright("inspect", name, *reference, "--no-pictures", "-o", os.path.basename(name)[:-4])
    seamwright("inspect", photo, *reference, "-t", "0.9", "-o", "older.seams")
    seamwright("plan", "ferry-2", "-o", "older.seams")
    seamwright("recheck", "ferry-1", "ferry-2", "-t", "0.9", "-o", "older.check")
    seamwright("arrange", "ferry-1", "-t", "0.9", "-o", "older.arrange")
    seamwright("plan", "ferry-1", "-t", "0.9", "-o", "older.plan")
    seamwright("card", "-o", "older.pdf", "--plain", "80")
    seamwright("lens", *boards, "-o", "older.lens.json")

    def lay(*names):
        def put(folder):
            for name, at in names:
                path = os.path.join(room, name)
                (shutil.copytree if os.path.isdir(path) else shutil.copy)(path, os.path.join(folder, at))
        return put

    one, two = ("ferry-1", "a"), ("ferry-2", "b")
    return [
        Command("inspect", ["inspect", photo, *reference, "-o", "out"], lay(("older.seams", "out"))),
        Command("plan", ["plan", "a", "-o", "out"], lay(one, ("older.plan", "out"))),
        Command("recheck", ["recheck", "a", "b", "-o", "out"], lay(one, two, ("older.check", "out"))),
        Command("arrange", ["arrange", "a", "-o", "out"], lay(one, ("older.arrange", "out"))),
        Command("card", ["card", "-o", "out.pdf", "-n", "2"], lay(("older.pdf", "out.pdf"))),
        Command("lens", ["lens", boards[2], *boards[:2], "-o", "out.json"], lay(("older.lens.json", "out.json"))),
    ]


def main():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name in ("program", "faults", "source"):
        ask.add_argument(name, type=os.path.abspath)
    ask.add_argument("--quick", action="store_true")
    ask.add_argument("--command", action="append")
    ask.add_argument("--kind", action="append", choices=KINDS)
    ask.add_argument("--most", type=int)
    ask.add_argument("--seed", type=int, default=13)
    given = ask.parse_args()
    chance, tally, began = random.Random(given.seed), Tally(), time.monotonic()
    with tempfile.TemporaryDirectory() as room:
        for command in commands(given.program, given.source, room):
            if not given.command or command.name in given.command:
                bench = Bench(given.program, given.faults, command, room)
                sweep(bench, given.kind or KINDS, given.quick, given.most, chance, tally)
    tally.show()
    print(f"{time.monotonic() - began:.0f} s")
    return 1 if tally.wrong or not tally.cells else 0


if __name__ == "__main__":
    sys.exit(main())
