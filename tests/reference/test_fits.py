"""The library's fits and bounds against closed forms, SciPy's least squares and another program.

Bounds: Kay, Fundamentals of Statistical Signal Processing: Estimation Theory (1993), from
memory; the Gaussian echo of five parameters is that of Demirli and Saniie, IEEE Trans. UFFC
48 (2001) 787-802, its bounds derived for a narrow band.
"""

import functools
import os
import subprocess
import sys

import numpy as np
from scipy import optimize

import independent_sim
import layered as ly

PROBE, FILTER = "tests/reference/fit_probe", "tests/reference/filter_probe"
RATE = 100e6
BOUND = 0.005        # relative, of a bound
failures = 0


def check(what, error, most):
    """Say how far we are from the reference; a NaN fails too."""
    global failures
    good = error <= most
    failures += not good
    print(f"{'ok  ' if good else 'FAIL'} {what}: {error:.3g} (at most {most:g})")


def probe(kind, arrays, *numbers):
    """What the library makes of it: a dict of numbers and arrays."""
    raw = np.concatenate(arrays).astype(np.float32).tobytes()
    words = [PROBE, kind, str(len(arrays[0])), *(f"{x:.17g}" for x in (RATE, *numbers))]
    lines = subprocess.run(words, input=raw, capture_output=True, check=True).stdout.split(b"\n")
    out, i = {}, 0
    while lines[i]:
        name, value = lines[i].decode().split()
        if name in ("pulse", "in_phase"):
            out[name] = np.array([float(x) for x in lines[i + 1:i + 1 + int(value)]])
            i += int(value)
        else:
            out[name] = float(value)
        i += 1
    out["white"] = out["noise"] / np.sqrt(passed(len(arrays[0]), out["low_hz"], out["high_hz"]))
    return out


@functools.lru_cache
def passed(samples, low, high):
    """What the library's filter lets through of white noise: the energy of its impulse response."""
    impulse = np.zeros(samples, np.float32)
    impulse[samples // 2] = 1
    run = subprocess.run([FILTER, "analytic", str(samples), f"{RATE:.17g}", f"{low:.17g}",
                          f"{high:.17g}"], input=impulse.tobytes(), capture_output=True,
                         check=True)
    return np.sum(np.frombuffer(run.stdout, np.float32)[:samples].astype(float) ** 2)


# --- the bound in closed form ---------------------------------------------------------

def echo(theta, t):
    """Gaussian echo: bandwidth alpha, time, frequency, phase, amplitude (us, MHz)."""
    alpha, tau, f, phase, beta = theta
    u = t - tau
    return beta * np.exp(-alpha * u ** 2) * np.cos(2 * np.pi * f * u + phase)


def fisher_bounds(model, theta, t, sigma):
    """Diagonal of the inverse of the numeric Fisher matrix, by central differences."""
    h = 1e-5 * np.maximum(np.abs(theta), 0.1)
    slopes = np.stack([(model(theta + d, t) - model(theta - d, t)) / (2 * d.sum())
                       for d in np.diag(h)])
    return np.diag(np.linalg.inv(slopes @ slopes.T / sigma ** 2))


def gaussian_echo():
    """Five bounds and that of the time alone, by their formulas and by the numeric matrix."""
    theta, fs, sigma = np.array([25.0, 1.0, 5.0, 1.0, 1.0]), 100.0, 0.1
    alpha, _, f, _, beta = theta
    t = np.arange(0, 2, 1 / fs)
    zeta = 0.5 * beta ** 2 * np.sqrt(np.pi / (2 * alpha)) * fs / sigma ** 2
    omega = 2 * np.pi * f
    closed = np.array([8 * alpha ** 2, 1 / alpha, alpha / np.pi ** 2,
                       1 + omega ** 2 / alpha, 1.5 * beta ** 2]) / zeta
    table = [3.98943, 3.19154e-5, 2.02107e-3, 3.22971e-2, 1.19683e-3]
    numeric = fisher_bounds(echo, theta, t, sigma)
    check("Gaussian echo, five bounds, formula against worked values",
          np.abs(closed / table - 1).max(), 1e-5)
    check("Gaussian echo, five bounds, numeric against formula",
          np.abs(numeric / closed - 1).max(), 1e-4)
    alone = fisher_bounds(lambda x, t: echo(np.array([25.0, x[0], 5.0, 1.0, 1.0]), t),
                          np.array([1.0]), t, sigma)[0]
    check("time alone, numeric against formula",
          abs(alone * (omega ** 2 + alpha) * zeta - 1), 1e-4)
    return 1 / ((omega ** 2 + alpha) * zeta) / sigma ** 2     # us^2 for sigma and beta 1


def isolated_pair(alone):
    """The library's bound of the time between two echoes, loss known: two independent times."""
    t = np.arange(2048) / 100.0
    for r, seed in ((0.25, 1), (0.4, 2)):
        rng, sigma = np.random.default_rng(seed), 0.003
        first, second = 7.0, 9.0

        def shot(*echoes):
            clean = sum(echo(np.array([25.0, at, 5.0, 1.0, a]), t) for at, a in echoes)
            return clean + sigma * rng.standard_normal(len(t))
        trace = shot((first, r), (second, -(1 - r * r)))
        air = shot((first, -1.0))
        got = probe("plate", [trace, air], 1e-6 * first, 2.01e-6, 5e6, 0.9 * r, 1e-12, 10.5e-6)
        wanted = got["white"] * np.sqrt(alone * (1 / r ** 2 + 1 / (1 - r * r) ** 2))
        check(f"pair of Gaussian echoes, r {r}: library's bound against the closed form",
              abs(1e6 * got["transit_bound_s"] / wanted - 1), BOUND)
        check(f"pair of Gaussian echoes, r {r}: time, in bounds",
              abs(1e6 * got["transit_s"] - 2.0) / wanted, 4.0)


# --- the whole trace --------------------------------------------------------------------

def plate_case(i, loss_db):
    """A plate as made by independent_sim.py, with a loss: arrays, task and truth.

    Transit, loss and reflection are those of the model's own definition.
    """
    rng = np.random.default_rng([99, i])
    setup = independent_sim.make_setup(rng, independent_sim.SETS["plate"])
    case = independent_sim.SETS["plate"].classes[0][0](rng, setup, None)
    layer = case.paths[0][1][0]._replace(loss=ly.loss_from_db(loss_db))
    above = setup.line.impedance
    front = (layer.impedance - above) / (layer.impedance + above)
    gamma = ly.reflection([layer], above, ly.AIR, setup.omega, setup.omega0)
    start = setup.line.round_trip - 1.5e-6

    def shot(gamma, sigma):
        wave = ly.to_record(ly.chain(gamma, setup.pulse, setup.line, setup.omega, setup.omega0),
                            setup.omega, start)
        return wave + sigma * rng.standard_normal(len(wave))
    sigma = 0.003
    air = shot(-np.ones(len(setup.freq)), sigma / 4)
    return shot(gamma, sigma), air, front, layer, setup, case, sigma, start


def envelope_peak(wave):
    """Where a wave's envelope peaks, in samples."""
    whole = np.fft.fft(wave)
    whole[len(wave) // 2:] = 0
    level = np.abs(np.fft.ifft(whole))
    k = int(np.argmax(level))
    y = np.log(level[k - 1:k + 2])
    return k + 0.5 * (y[0] - y[2]) / (y[0] - 2 * y[1] + y[2])


def whole_trace(got, front_s, transit_s, f0, r, end_s):
    """The same model by scipy.optimize.least_squares on the record's samples.

    Filtered noise is white within the band, and the model lies within the band, so
    that samples weigh alike.  Returns parameters (amplitude, start, r, loss, transit; times in
    us, loss in Np/MHz) and their covariance.
    """
    n = len(got["in_phase"])
    f = np.fft.rfftfreq(2 * n, 1 / RATE)
    pulse = np.fft.rfft(got["pulse"], 2 * n) * np.exp(2j * np.pi * f * got["peak_sample"] / RATE)
    bend = 2 / np.pi * f * np.log(np.maximum(f, 1.0) / f0)
    low = max(0, int((front_s - got["pulse_s"]) * RATE))
    high = int(end_s * RATE)
    lines = (f >= got["low_hz"]) & (f <= got["high_hz"])

    def model(p):
        amplitude, t0, r, loss, transit = p * [1, 1e-6, 1, 1e-6, 1e-6]
        e = np.exp(-loss * f - 2j * np.pi * f * transit + 1j * loss * bend)
        gamma = r - (1 - r * r) * e / (1 - r * e)
        wave = np.fft.irfft(amplitude * pulse * lines * gamma * np.exp(-2j * np.pi * f * t0))
        return wave[low:high]
    start = np.array([1.0, 1e6 * front_s, r, 0.02, 1e6 * transit_s])
    fit = optimize.least_squares(lambda p: model(p) - got["in_phase"][low:high], start,
                                 x_scale=[1, 1e-3, 0.1, 1e-3, 1e-3], method="lm",
                                 xtol=1e-13, ftol=1e-13)
    return fit.x, np.linalg.inv(fit.jac.T @ fit.jac) * got["white"] ** 2


def against_scipy():
    """Parameters within a share of their deviations; the bound by its covariance."""
    for i, loss_db in ((1, 0.0), (2, 0.05), (3, 0.1), (4, 0.15), (5, 0.1), (6, 0.05)):
        trace, air, front, layer, setup, _, sigma, start = plate_case(i, loss_db)
        f0 = setup.pulse.centre_hz
        transit = 2 * layer.thickness / layer.velocity
        front_s = envelope_peak(air[:600]) / RATE
        end = front_s + 4.5 * transit
        got = probe("plate", [trace, air], front_s, transit + 0.1 / f0, f0, 0.9 * front, 0.0,
                    min(end, (len(trace) - 1) / RATE))
        p, covariance = whole_trace(got, front_s, transit, f0, front,
                                    min(end, (len(trace) - 1) / RATE))
        deviation = np.sqrt(np.diag(covariance))
        mine = [got["amplitude"], p[1], got["front_reflection"], 1e6 * got["loss_np_hz"],
                1e6 * got["transit_s"]]
        names = ("amplitude", "", "front reflection", "loss", "transit")
        for k in (0, 2, 3, 4):
            check(f"plate {i}, {names[k]}: library less SciPy, in deviations",
                  abs(mine[k] - p[k]) / deviation[k], 0.25)
        check(f"plate {i}, bound over SciPy's covariance",
              abs(1e6 * got["transit_bound_s"] / deviation[4] - 1), BOUND)
        check(f"plate {i}, noise, over the one put in", abs(got["white"] / sigma - 1), 0.12)


def against_other_bound():
    """For lossless plates, the bound that independent_sim.py computes by another model.

    That one knows no pass band. Pulses whose spectra have long tails (gamma) lose up to 2 % by it.
    """
    more = []
    for i in range(11, 23):
        trace, air, front, layer, setup, case, sigma, start = plate_case(i, 0.0)
        transit = 2 * layer.thickness / layer.velocity
        front_s = envelope_peak(air[:600]) / RATE
        end = min(front_s + 8 * transit, (len(trace) - 1) / RATE)
        got = probe("plate", [trace, air], front_s, transit, setup.pulse.centre_hz, front, 0.0, end)
        quiet = np.sqrt(max(got["white"] ** 2 - independent_sim.STEP ** 2 / 12, 0))
        metres = independent_sim.bound(case, setup, front, quiet, start)
        wanted = 2 / layer.velocity * metres * independent_sim.REFERENCE_PEAK   # level here: 1
        more.append(got["transit_bound_s"] / wanted - 1)
        check(f"plate {i}, bound over the other program's", abs(more[-1]), 0.025)
    check("plates, bound over the other program's, median", abs(np.median(more)), BOUND)


# --- two echoes ---------------------------------------------------------------------------

def two_echoes(got, first, second, before, after, f0):
    """The same comparison of two tapered stretches, line by line, by SciPy.

    The likelihood of both where the spectrum of the first is unknown: total least squares. Noise
    is less by the filter's gain in the edges of the band, a quarter of it wide.
    """
    b, a = round(before * RATE), round(after * RATE)
    length = b + a + 1
    x = np.arange(length) + 0.5
    from_end, edge = np.minimum(x, length - x), length / 8
    taper = np.where(from_end >= edge, 1.0, 0.5 - 0.5 * np.cos(np.pi * from_end / edge))
    low, high = got["low_hz"], got["high_hz"]
    step = max(RATE / length, (high - low) / 47)
    f = low + step * np.arange(min(48, int((high - low) / step * (1 + 1e-12)) + 1))
    turn = np.exp(-2j * np.pi * np.outer(f, np.arange(length) - b) / RATE)
    k = round(first * RATE)
    m = k + round((second - first) * RATE)
    one, two = (turn @ (taper * got["in_phase"][j - b:j + a + 1]) for j in (k, m))
    inside = np.minimum(f - low, high - f) / (0.25 * (high - low))
    gain = 0.5 + 0.5 * np.sin(np.pi * np.minimum(inside, 0.5))
    variance = got["white"] ** 2 * length * gain ** 2
    bend = 2 / np.pi * f * np.log(f / f0)

    def response(p):
        late = 1e-9 * p[2] - (m - k) / RATE
        return -np.exp(p[0] - 1e-9 * p[1] * (f - f0)
                       - 2j * np.pi * f * late + 1e-9j * p[1] * bend)
    p = np.array([np.log(np.linalg.norm(two) / np.linalg.norm(one)), 0.0,
                  1e9 * (second - first)])

    def residual(q):                        # both echoes are noisy
        h = response(q)
        z = np.sqrt(2 / (variance * (1 + np.abs(h) ** 2))) * (two - h * one)
        return np.concatenate([z.real, z.imag])
    fit = optimize.least_squares(residual, p, method="lm", xtol=1e-14, ftol=1e-14,
                                 x_scale=[0.1, 10, 1])
    return fit.x, np.linalg.inv(fit.jac.T @ fit.jac), 2 * fit.cost / (2 * len(f) * np.mean(taper ** 2) - 3)


def two_echo_fit():
    """Time, loss, ratio and the covariance behind their uncertainties."""
    for i, loss_db in ((21, 0.0), (22, 0.1), (23, 0.15)):
        trace, air, _, layer, setup, _, _, _ = plate_case(i, loss_db)
        f0 = setup.pulse.centre_hz
        first = envelope_peak(air[:600]) / RATE
        second = first + 2 * layer.thickness / layer.velocity
        task = (first, second, 0.3e-6, 0.5e-6, f0)
        got = probe("transit", [trace], 0.5 * f0, 1.5 * f0, *task)
        p, covariance, misfit = two_echoes(got, *task)
        d = np.sqrt(np.diag(covariance))
        mine = (1e9 * got["time_s"], 1e9 * got["loss_np_hz"], np.log(-got["ratio"]))
        for name, one, k in zip(("time", "loss", "ratio"), mine, (2, 1, 0)):
            check(f"two echoes {i}, {name}: library less SciPy, in deviations",
                  abs(one - p[k]) / d[k], 1e-3)
        check(f"two echoes {i}, deviation of the ratio",
              abs(got["ratio_u"] / -got["ratio"] / d[0] / np.sqrt(max(1, misfit)) - 1), 0.01)


if not os.path.exists(PROBE):
    sys.exit(f"{PROBE} is missing: make check builds it")
isolated_pair(gaussian_echo())
against_scipy()
against_other_bound()
two_echo_fit()
sys.exit(failures > 0)
