"""Trace files read and written by plyecho against Python's own wave, csv and float.

WAV goes through the module wave (integer samples) and SciPy's io.wavfile (float samples), CSV
through the module csv and Python's float(), which rounds correctly.
"""

import csv
import io
import random
import struct
import subprocess
import tempfile
import unittest
import wave
from pathlib import Path

import numpy as np
from scipy.io import wavfile

PROGRAM = "./plyecho"
random.seed(20261125)


def convert(data, to, *options, name="trace"):
    """The bytes that `plyecho convert` makes of these bytes."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(data)
        run = subprocess.run([PROGRAM, "convert", "--quiet", "--to", to, "-o", "-", *options, path],
                             capture_output=True, check=False)
        if run.returncode != 0:
            raise AssertionError(run.stderr.decode())
        return run.stdout


def read_csv(text):
    """Labels, and the columns as text, by the module csv."""
    lines = text.decode().splitlines()
    labels = dict(line[2:].split(": ", 1) for line in lines if line.startswith("# "))
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    return labels, rows[0], list(zip(*rows[1:]))


def samples(count):
    return [random.uniform(-1, 1) * 10 ** random.uniform(-6, 0) for _ in range(count)]


class Wav(unittest.TestCase):
    def test_integer_samples_as_wave_writes_them(self):
        for width in (1, 2, 3, 4):
            for channels in (1, 2, 5):
                bits = 8 * width
                counts = [[random.randrange(-2 ** (bits - 1), 2 ** (bits - 1))
                           for _ in range(channels)] for _ in range(40)]
                file = io.BytesIO()
                with wave.open(file, "wb") as out:
                    out.setnchannels(channels)
                    out.setsampwidth(width)
                    out.setframerate(100_000_000)
                    out.writeframes(b"".join(
                        bytes([c + 128]) if width == 1 else c.to_bytes(width, "little", signed=True)
                        for frame in counts for c in frame))
                labels, header, columns = read_csv(convert(file.getvalue(), "csv"))
                self.assertEqual(float(labels["sample_rate_hz"]), 100e6)
                self.assertEqual(float(labels["full_scale"]), 1.0)
                self.assertEqual(float(labels["step"]), 2.0 ** (1 - bits))
                self.assertEqual(len(header), channels + 1)
                for c in range(channels):
                    expected = [np.float32(frame[c] / 2 ** (bits - 1)) for frame in counts]
                    self.assertEqual([np.float32(x) for x in columns[c + 1]], expected)

    def test_float_wav_of_ours_as_scipy_reads_it(self):
        values = np.array(samples(3 * 500)).reshape(500, 3).astype(np.float32)
        rows = "".join(",".join([repr(i / 100)] + [repr(float(x)) for x in row]) + "\n"
                       for i, row in enumerate(values))
        out = convert(("time_us,ch1,ch2,ch3\n" + rows).encode(), "wav")
        rate, data = wavfile.read(io.BytesIO(out))
        self.assertEqual(rate, 100_000_000)
        self.assertEqual(data.dtype, np.float32)
        np.testing.assert_array_equal(data, values)

    def test_header_of_ours_by_hand(self):
        out = convert(b"time_us,y\n0,-1\n0.01,0.5\n0.02,3\n", "wav")
        self.assertEqual(out[:4] + out[8:16], b"RIFFWAVEfmt ")
        self.assertEqual(struct.unpack("<I", out[4:8])[0] + 8, len(out))
        kind, channels, rate = struct.unpack("<HHI", out[20:28])
        self.assertEqual((kind, channels, rate), (3, 1, 100_000_000))  # 3: IEEE float


class Csv(unittest.TestCase):
    def check(self, texts, delimiter, point, quote=False, newline="\n", bom=b""):
        """Numbers as texts, written by csv.writer, come back as float() reads them."""
        file = io.StringIO()
        writer = csv.writer(file, delimiter=delimiter, lineterminator=newline,
                            quoting=csv.QUOTE_ALL if quote else csv.QUOTE_MINIMAL)
        writer.writerow(["time_us", "amplitude"])
        for i, text in enumerate(texts):
            writer.writerow([f"{i / 100:.2f}".replace(".", point), text.replace(".", point)])
        labels, _, columns = read_csv(convert(bom + file.getvalue().encode(), "csv"))
        self.assertEqual(float(labels["sample_rate_hz"]), 100e6)
        got = [np.float32(x) for x in columns[1]]
        self.assertEqual(got, [np.float32(float(x)) for x in texts])

    def test_layouts_of_csv_writer(self):
        texts = ["%.6f" % x for x in samples(200)]
        for newline in ("\n", "\r\n"):
            for bom in (b"", b"\xef\xbb\xbf"):
                self.check(texts, ",", ".", newline=newline, bom=bom)
                self.check(texts, ";", ".", newline=newline, bom=bom)
                self.check(texts, ";", ",", newline=newline, bom=bom)
                self.check(texts, "\t", ",", newline=newline, bom=bom)
                self.check(texts, ",", ".", quote=True, newline=newline, bom=bom)
                self.check(texts, ",", ",", quote=True, newline=newline, bom=bom)

    def test_number_formats(self):
        for form in ("%.0f", "%.3f", "%.9f", "%.17g", "%.3e", "%.18e", "%.25f", "%+.4f"):
            values = samples(200)
            if form == "%.0f":
                values = [1e4 * x for x in values]
            self.check(["-1.5"] + [form % x for x in values], ",", ".")

    def test_numpy_savetxt_as_it_stands(self):
        values = np.array(samples(100))
        file = io.StringIO()
        np.savetxt(file, np.column_stack([np.arange(100) * 1e-8, values]))
        labels, _, columns = read_csv(convert(file.getvalue().encode(), "csv"))
        self.assertEqual(float(labels["sample_rate_hz"]), 100e6)
        np.testing.assert_array_equal(np.array(columns[1], dtype=np.float32),
                                      values.astype(np.float32))

    def test_times_of_linspace_give_the_rate_in_full(self):
        for rate in (100e6, 79.972e6, 62.5e6, 44.1e6, 1e9):
            times = np.arange(300) / rate
            rows = "".join(f"{t!r},{(-1) ** i}\n" for i, t in enumerate(times.tolist()))
            labels, _, _ = read_csv(convert(("time (s),y\n" + rows).encode(), "csv"))
            self.assertEqual(float(labels["sample_rate_hz"]), rate)

    def test_samples_print_as_short_as_numpy_prints_them(self):
        values = np.array(samples(2000), dtype=np.float32)
        rows = "".join(f"{i},{float(x)!r}\n" for i, x in enumerate(values))
        text = convert(("time_ns,y\n" + rows).encode(), "csv")
        _, _, columns = read_csv(text)
        for got, x in zip(columns[1], values):
            self.assertEqual(np.float32(got), x)
            shortest = np.format_float_positional(x, unique=True, trim="-")
            digits = len(shortest.lstrip("-0.").replace(".", ""))
            mantissa = got.split("e")[0].lstrip("-0.").replace(".", "")
            self.assertLessEqual(len(mantissa.rstrip("0")), digits)

    def test_written_time_column_is_right_without_labels(self):
        text = convert(b"# sample_rate_hz: 79972000\n# start_us: 1.25\n" +
                       b"".join(b"%d\n" % (-1) ** i for i in range(300)), "csv")
        _, header, columns = read_csv(text)
        self.assertEqual(header, ["time_us", "amplitude"])
        times = 1.25 + np.arange(300) / 79.972
        np.testing.assert_allclose(np.array(columns[0], dtype=float), times, rtol=0, atol=1e-8)


if __name__ == "__main__":
    unittest.main()
