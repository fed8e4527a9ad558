"""Result tables of the program, read back with Python's own csv and json modules.

The programs that take our tables are not ours: what csv.reader and json.loads make of them is what
users get. Also here, since it needs the process's figures from outside: memory stays the same
whatever the number of files.
"""
import csv
import io
import json
import os
import subprocess
import sys
import tempfile
import unittest

PLYECHO = os.path.abspath("plyecho")

# Names that hurt: quotes, delimiters, line ends, formulas, bytes that are no UTF-8.
NAMES = [
    b"plain.csv",
    b"with space.csv",
    b'six"inch.csv',
    b"comma,name.csv",
    b"line\nbreak.csv",
    b"back\\slash.csv",
    b"=1+1.csv",
    b"@sum.csv",
    "Rohr-\u00e4.csv".encode(),
    b"bad\xff\xfebytes.csv",
    b"tab\tname.csv",
]


def trace(samples=256):
    """A CSV trace with one echo in its middle."""
    rows = ["# sample_rate_hz: 1e8", "time_us,amplitude"]
    for i in range(samples):
        swing = (0, 1, 0, -1)[i % 4] if abs(i - samples // 2) < 12 else 0
        rows.append(f"{i / 100:.2f},{swing * 0.5 + (i * 7919 % 13 - 6) * 1e-3:.4f}")
    return ("\n".join(rows) + "\n").encode()


def run(arguments, folder, **more):
    return subprocess.run([PLYECHO, *arguments], cwd=folder, capture_output=True, **more)


def as_utf8(name):
    """What a name must look like in a table: what is no UTF-8 becomes U+FFFD, byte by byte."""
    return "".join(
        part if part.isprintable() or part in "\n\t" else "\ufffd"
        for part in name.decode("utf-8", "surrogateescape")
    )


def in_csv(name):
    return ("./" if name[:1] in "=+-@" else "") + name


def measure(folder, count):
    """Exit status, lines and largest memory of a run over `count` files, from a child of its own."""
    names = "".join(f"{i}.csv\n" for i in range(count))
    code = (
        "import resource, subprocess, sys; "
        f"r = subprocess.run([{PLYECHO!r}, 'inspect', '--format', 'csv', '--files-from', '-'], "
        "input=sys.stdin.buffer.read(), stdout=subprocess.PIPE); "
        "print(r.returncode, r.stdout.count(b'\\n'), "
        "resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    # AddressSanitizer keeps freed memory back to find its misuse: not here
    none_kept = "quarantine_size_mb=0:thread_local_quarantine_size_kb=0"
    environment = dict(os.environ, ASAN_OPTIONS=none_kept)
    output = subprocess.run(
        [sys.executable, "-c", code],
        cwd=folder,
        env=environment,
        input=names.encode(),
        stdout=subprocess.PIPE,
        check=True,
    ).stdout.split()
    return tuple(int(word) for word in output)


class Tables(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = folder.name

    def write(self, names):
        for name in names:
            with open(os.path.join(os.fsencode(self.folder), os.fsencode(name)), "wb") as file:
                file.write(trace())

    def inspect(self, *options):
        result = run(["inspect", *options, "--", *NAMES], self.folder)
        self.assertEqual(result.returncode, 0, result.stderr)
        return result.stdout.decode()

    def compare(self, key, cell, value):
        """CSV tells the same as JSON, numbers rounded to no fewer than three digits."""
        if value is None:
            self.assertEqual(cell, "", key)
        elif isinstance(value, bool):
            self.assertEqual(cell, "yes" if value else "no", key)
        elif isinstance(value, (int, float)):
            self.assertLessEqual(abs(float(cell) - value), 5e-4 * abs(value), key)

    def test_what_others_read(self):
        self.write(NAMES)
        text = self.inspect("--format", "csv")
        header, *rows = csv.reader(io.StringIO(text, newline=""), strict=True)
        self.assertEqual([row[0] for row in rows], [in_csv(as_utf8(name)) for name in NAMES])
        self.assertEqual({len(row) for row in rows}, {len(header)})

        objects = [json.loads(line) for line in self.inspect("--format", "json").splitlines()]
        self.assertEqual([o["trace"] for o in objects], [as_utf8(name) for name in NAMES])
        self.assertLessEqual(set(header), set(objects[0]))
        for row, full in zip(rows, objects):
            for key, cell in zip(header[1:], row[1:]):
                self.compare(key, cell, full[key])

        bare = self.inspect("--format", "csv", "--no-header")
        self.assertEqual(list(csv.reader(io.StringIO(bare, newline=""))), rows)

    def test_memory_does_not_grow_with_the_number_of_files(self):
        self.write(f"{i}.csv" for i in range(1000))
        status, lines, few_kb = measure(self.folder, 20)
        self.assertEqual((status, lines), (0, 21))
        status, lines, many_kb = measure(self.folder, 1000)
        self.assertEqual((status, lines), (0, 1001))
        print(f"peak memory: {few_kb} kB for 20 files, {many_kb} kB for 1000")
        # to keep 980 more files of 4 kB each would show as 4 MB at least
        self.assertLess(many_kb - few_kb, 2048)


if __name__ == "__main__":
    unittest.main()
