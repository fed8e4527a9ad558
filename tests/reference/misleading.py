#!/usr/bin/python3
"""Traces of independent_sim.py, spoilt as recorders and workshops spoil them, judged.

    misleading.py --plyecho build/plyecho [--count 40] [--kind NAME]... [--show-wrong]

A table, a line a kind and strength, with and without --pulse: the share that is
right, the share that is honest (not right, but undecided, unreadable, of low odds
or with a wide uncertainty), and the share that is confidently wrong, beside the
same for the traces as they were.  Strengths are our choice.
"""

import argparse
import math
import os
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

import numpy as np

import independent_sim as sim
import score_set

CONFIDENT = 3.0      # odds from which a wrong verdict is a confident one
RATE = 100e6


# --- ways to spoil a trace -----------------------------------------------------
# Each takes a generator, the samples, the truth and a strength, and gives the
# samples.  Times are samples of the record, heights shares of the highest echo.

class Spot:
    """Where the wall's echoes lie in a record."""

    def __init__(self, wave, truth):
        v = float(truth["true_velocity_m_s"])
        self.front = (float(truth["front_us"]) - float(truth["start_us"])) * 100
        self.transit = 2e-3 * float(truth["thickness_mm"]) / v * RATE
        self.centre_hz = 1e6 * float(truth["centre_mhz"])
        self.period = RATE / self.centre_hz
        first = max(0, int(self.front - 3 * self.period))
        last = min(len(wave), int(self.front + 2.5 * self.transit))
        self.peak = np.abs(wave[first:last] - np.median(wave)).max()


def clip_amplifier(rng, wave, truth, share):
    """An amplifier limits below the converter's range."""
    limit = share * Spot(wave, truth).peak
    return np.clip(wave, -limit, limit)


def clip_converter(rng, wave, truth, share):
    """A converter of too small a range; the file does not say what it is."""
    scale = share * Spot(wave, truth).peak
    step = scale / 2048
    truth["full_scale"] = None
    return np.clip(np.round(wave / step) * step, -scale, scale - step)


def clip_softly(rng, wave, truth, share):
    """An amplifier that runs into its limit smoothly."""
    limit = share * Spot(wave, truth).peak
    return limit * np.tanh(wave / limit)


def clip_one_side(rng, wave, truth, share):
    """Only the troughs are cut, as behind an offset."""
    return np.maximum(wave, -share * Spot(wave, truth).peak)


def rectify(rng, wave, truth, how):
    """The oscillation lost, and no label that says so."""
    if how == "full":
        return np.abs(wave)
    if how == "half":
        return np.maximum(wave, 0.0)
    n = len(wave)
    turn = np.zeros(n)
    turn[0], turn[1:n // 2] = 1, 2
    return np.abs(np.fft.ifft(np.fft.fft(wave - wave.mean()) * turn))


def invert(rng, wave, truth, how):
    """A connector or a transformer the other way round."""
    return -wave


def tone(rng, wave, truth, how):
    """A steady line, at a multiple of the probe's frequency."""
    multiple, share = how
    spot = Spot(wave, truth)
    turn = 2 * np.pi * multiple * spot.centre_hz / RATE * np.arange(len(wave))
    return wave + share * spot.peak * np.sin(turn + rng.uniform(0, 6))


def bursts(rng, wave, truth, how):
    """A switching supply: short ringing at each edge, 0.4 to 1 MHz of edges."""
    multiple, share = how
    spot = Spot(wave, truth)
    spacing = RATE / rng.uniform(0.4e6, 1e6)
    t = np.arange(len(wave))
    out = np.array(wave)
    sign = rng.choice([-1, 1])
    for at in np.arange(rng.uniform(0, spacing), len(wave), spacing):
        u = np.maximum(t - at, 0)
        ring = np.exp(-u / (3 * spot.period)) * np.sin(2 * np.pi * multiple * u / spot.period)
        out += sign * share * spot.peak * ring
        sign = -sign
    return out


def base_step(rng, wave, truth, share):
    """The base line jumps between front and second back-wall echo."""
    spot = Spot(wave, truth)
    at = int(spot.front + rng.uniform(0, 2) * spot.transit)
    out = np.array(wave)
    out[at:] += rng.choice([-1, 1]) * share * spot.peak
    return out


def drop(rng, wave, truth, samples):
    """Samples lost between the middle of the front and the back-wall echo."""
    spot = Spot(wave, truth)
    at = int(spot.front + rng.uniform(0.1, 0.9) * spot.transit)
    return np.delete(wave, np.arange(at, at + samples))


def drop_later(rng, wave, truth, samples):
    """Samples lost between the first and the second back-wall echo."""
    spot = Spot(wave, truth)
    at = int(spot.front + rng.uniform(1.1, 1.9) * spot.transit)
    return np.delete(wave, np.arange(at, at + samples))


def repeat_block(rng, wave, truth, samples):
    """A block written twice."""
    spot = Spot(wave, truth)
    at = int(spot.front + rng.uniform(0.1, 0.9) * spot.transit)
    return np.insert(wave, at, wave[at:at + samples])


def zero_block(rng, wave, truth, samples):
    """A block lost, zeros in its place."""
    spot = Spot(wave, truth)
    at = int(spot.front + rng.uniform(0.1, 1.1) * spot.transit)
    out = np.array(wave)
    out[at:at + samples] = 0
    return out


def few_counts(rng, wave, truth, counts):
    """Eight bits, of which the echoes use few."""
    step = Spot(wave, truth).peak / counts
    return np.clip(np.round(wave / step), -128, 127) * step


def cut(rng, wave, truth, share):
    """The record ends at this share of the way to the back wall."""
    spot = Spot(wave, truth)
    return wave[:int(spot.front + share * spot.transit)]


def cut_in_echo(rng, wave, truth, periods):
    """The record ends so many periods behind the back wall's time."""
    spot = Spot(wave, truth)
    return wave[:int(spot.front + spot.transit + periods * spot.period)]


KINDS = {
    "clip-amplifier": (clip_amplifier, [0.9, 0.7, 0.4]),
    "clip-converter": (clip_converter, [0.9, 0.7, 0.4]),
    "clip-one-side": (clip_one_side, [0.9, 0.6, 0.3]),
    "clip-softly": (clip_softly, [1.5, 0.7, 0.3]),
    "rectified": (rectify, ["full", "half", "envelope"]),
    "rectified-as-rf": (rectify, ["full", "half", "envelope"]),
    "inverted": (invert, ["trace"]),
    "tone-in-band": (tone, [(1.0, 0.02), (1.0, 0.1), (1.0, 0.4)]),
    "tone-edge": (tone, [(0.6, 0.1), (0.6, 0.4)]),
    "tone-below": (tone, [(0.1, 0.1), (0.1, 0.5), (0.1, 1.5)]),
    "tone-above": (tone, [(3.1, 0.1), (3.1, 0.5), (3.1, 1.5)]),
    "bursts-in-band": (bursts, [(1.0, 0.05), (1.0, 0.2), (1.0, 0.6)]),
    "bursts-above": (bursts, [(2.7, 0.1), (2.7, 0.5), (2.7, 1.0)]),
    "base-step": (base_step, [0.1, 0.5, 2.0]),
    "dropped": (drop, [3, 10, 30, 60]),
    "dropped-later": (drop_later, [3, 10, 30]),
    "repeated": (repeat_block, [3, 10, 30]),
    "zeroed": (zero_block, [5, 20, 60]),
    "few-counts": (few_counts, [20, 10, 5, 2.5]),
    "cut-short": (cut, [0.3, 0.7, 0.9]),
    "cut-in-echo": (cut_in_echo, [-1.0, 0.0, 1.0, 2.0]),
}


# --- traces, answers, marks ----------------------------------------------------

def write_trace(path, wave, start_us, **changed):
    """A trace file with the labels of its set; those changed to None are left out."""
    with open(path, "w", encoding="ascii") as out:
        for key, value in (dict(sim.labels(start_us)) | changed).items():
            if value is not None:
                out.write(f"# {key}: {value}\n")
        out.write("time_us,amplitude\n")
        out.writelines(f"{start_us + i * 0.01:.3f},{a:.7g}\n"
                       for i, a in enumerate(wave.tolist()))


def make_traces(folder, sets, count, seed):
    """Rows of truth with their samples; the reference pulses in files."""
    rows = []
    for name, snr in sets:
        for i in range(1, count + 1):
            truth, wave, pulse = sim.make_trace(seed, i, snr, name)
            row = {k: sim.cell(truth[k]) for k in sim.TRUTH}
            row["pulse"] = f"{name}{snr:g}-{i:04d}-pulse.csv"
            sim.write_csv(os.path.join(folder, row["pulse"]), pulse, truth["start_us"],
                          [("reference_reflection", "-1")])
            rows.append((row, wave, truth["start_us"]))
    return rows


def told(how):
    """A strength in few words."""
    return ":".join(f"{h:g}" for h in how) if isinstance(how, tuple) else str(how)


def spoil(folder, rows, kind, how):
    """Files of one kind and strength; rows of truth that name them."""
    out = []
    for k, (row, wave, start_us) in enumerate(rows):
        rng = np.random.default_rng([7, k])
        row = dict(row, trace=f"{kind}-{told(how)}-{k:04d}.csv".replace(":", "-"))
        if kind:
            wave = KINDS[kind][0](rng, wave, row, how)
        write_trace(os.path.join(folder, row["trace"]), np.asarray(wave), start_us,
                    signal=None if kind == "rectified" else "rf",
                    full_scale=row.get("full_scale", "1"))
        out.append(row)
    return out


def mark(row, answer):
    """right, honest or wrong (confidently), or trouble."""
    verdict = answer["verdict"]
    if verdict == score_set.TROUBLE:
        return "trouble"
    wall = score_set.number(answer["thickness_mm"])
    error = abs(wall - float(row["thickness_mm"]))
    u = score_set.number(answer["thickness_u_mm"])
    if not math.isnan(wall) and not error <= 3 * u:
        return "wrong"
    if score_set.is_right(row, answer):
        return "right" if math.isnan(wall) or u < 0.06 else "honest"
    if verdict == "no-indication" and row["cover"] not in ("", "0"):
        return "wrong"
    odds = score_set.number(answer["evidence_ratio"])
    return "wrong" if odds > CONFIDENT else "honest"


def judge(program, folder, rows, with_pulse, jobs):
    """Answers and marks of rows."""
    with ThreadPoolExecutor(jobs) as pool:
        answers = list(pool.map(
            lambda r: score_set.assess(program, folder, r, with_pulse), rows))
    return answers, [mark(r, a) for r, a in zip(rows, answers)]


def shares(marks):
    """Right, honest, wrong, trouble as shares."""
    return [marks.count(m) / len(marks) for m in ("right", "honest", "wrong", "trouble")]


def wrong_lines(rows, answers, marks):
    """A line an answer that is confidently wrong."""
    for r, a, m in zip(rows, answers, marks):
        if m in ("wrong", "trouble"):
            yield (f"    {r['trace']} {r['class']} d={r['thickness_mm'][:6]} "
                   f"depth={r['depth_mm'][:6]} cover={r['cover'][:5]}: {a['verdict']} "
                   f"{a.get('thickness_mm', '')} u {a.get('thickness_u_mm', '')} mode "
                   f"{a.get('mode', '')} at {a.get('indication_depth_mm', '')} "
                   f"odds {a.get('evidence_ratio', '')} {a.get('reason', '')}")


def without_known(rows, answers, marks, plain):
    """Of what is marked, all but what was wrong before it was spoilt."""
    return [(r, a, m) for r, a, m, p in zip(rows, answers, marks, plain) if p != "wrong"]


def table(program, opt, folder):
    """Print the table."""
    rows = make_traces(folder, opt.sets, opt.count, opt.seed)
    plain = {}
    print(f"{'':28s}{'with --pulse':^30s}{'without':^30s}")
    print(f"{'kind and strength':28s}" + 2 * f"{'right':>10s}{'honest':>10s}{'wrong':>10s}")
    for kind in [""] + (opt.kind or list(KINDS)):
        for how in (KINDS[kind][1] if kind else [""]):
            line, bad = f"{kind or 'as it was'} {told(how)}".ljust(28), []
            for with_pulse in (True, False):
                mine = spoil(folder, rows, kind, how)
                answers, marks = judge(program, folder, mine, with_pulse, opt.jobs)
                got = shares(marks)
                if not kind:
                    plain[with_pulse] = marks
                line += "".join(f"{x:10.3f}" for x in got[:3])
                line += f" TROUBLE {got[3]:.3f}" if got[3] else ""
                seen = without_known(mine, answers, marks, plain[with_pulse])
                bad += wrong_lines(*zip(*seen)) if seen else []
            print(line, flush=True)
            if opt.show_wrong:
                print("\n".join(bad), flush=True)
            for row in mine:
                os.remove(os.path.join(folder, row["trace"]))


def set_of(text):
    """NAME:SNR."""
    name, snr = text.split(":")
    return name, float(snr)


def parser():
    """The command line."""
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("--plyecho", default="plyecho", metavar="PATH")
    p.add_argument("--count", type=int, default=20, help="traces of each set")
    p.add_argument("--seed", type=int, default=71)
    p.add_argument("--set", dest="sets", type=set_of, action="append", metavar="NAME:SNR",
                   help="default plain:40 and hard:34")
    p.add_argument("--kind", action="append", choices=list(KINDS))
    p.add_argument("--jobs", type=int, default=2)
    p.add_argument("--show-wrong", action="store_true")
    return p


def main():
    opt = parser().parse_args()
    opt.sets = opt.sets or [("plain", 40.0), ("hard", 34.0)]
    with tempfile.TemporaryDirectory() as folder:
        table(opt.plyecho, opt, folder)


if __name__ == "__main__":
    sys.exit(main())
