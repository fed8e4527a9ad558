#!/usr/bin/python3
"""Checks of the independent simulator itself, so that it may judge others."""

import unittest

import numpy as np

import fdtd_sim
import layered as ly
from independent_sim import SETS, make_trace, parser
from layered import Layer


class PlateInWater(unittest.TestCase):
    """A lossless plate, Z 4.65 MRayl, in water 1.4797 MRayl.

    Closed form: r, then (1 - r^2) R (-r R)^(n-1) with R of the back face; the
    pressure reflection coefficients as in the non-destructive testing education
    pages of Iowa State University; the numbers were worked out by hand.
    """
    LENGTH = 2 ** 15

    def echoes(self, below):
        """Amplitudes of the first four echoes, by matching the pulse."""
        freq = ly.frequencies(self.LENGTH)
        omega = 2 * np.pi * freq
        pulse = ly.make_pulse("gauss", 10e6, 0.6, 0.7, freq, self.LENGTH)
        gamma = ly.reflection([Layer(3e-3, 4.65e6, 2950.0)], ly.WATER, below,
                              omega, 2 * np.pi * 10e6)

        def at(spectrum, t):
            return np.fft.irfft(pulse.spectrum * spectrum * np.exp(-1j * omega * t),
                                self.LENGTH)
        wave = at(gamma, 5e-6)
        copies = [at(1.0, 5e-6 + n * 2 * 3e-3 / 2950.0) for n in range(4)]
        return [np.dot(wave, c) / np.dot(c, c) for c in copies]

    def test_air_behind(self):
        np.testing.assert_allclose(self.echoes(ly.AIR),
                                   [0.5172, -0.7324, -0.3787, -0.1958], atol=5e-4)

    def test_water_behind(self):
        np.testing.assert_allclose(self.echoes(ly.WATER),
                                   [0.5172, -0.3789, -0.1013, -0.0271], atol=5e-4)


class ThinLayer(unittest.TestCase):
    """A thin layer between equal media: the three-layer formula.

    |T|^2 = 1 / (1 + (Z/Zg - Zg/Z)^2 sin^2(2 pi f h/c) / 4) (Kinsler and Frey,
    Fundamentals of Acoustics; from memory).
    """

    def test_gap_and_resin(self):
        for z, c, h, f, expected in ((413.25, 343.2, 10e-9, 5e6, 0.982),
                                     (413.25, 343.2, 1e-9, 10e6, 0.717),
                                     (3.0e6, 2500.0, 10e-6, 10e6, 0.112),
                                     (1.4797e6, 1482.4, 10e-6, 5e6, 0.285)):
            omega = np.array([2 * np.pi * f])
            r = ly.reflection([Layer(h, z, c)], 4.65e6, 4.65e6, omega, omega[0])
            self.assertAlmostEqual(abs(r[0]), expected, delta=0.002)


class AgainstTimeDomain(unittest.TestCase):
    """Lossless stacks by finite differences in time: no formula in common."""
    STEP, LENGTH = 0.4e-9, 2 ** 16

    def setUp(self):
        self.freq = ly.frequencies(self.LENGTH, 1 / self.STEP)
        self.omega = 2 * np.pi * self.freq
        self.pulse = ly.make_pulse("gamma", 10e6, 0.5, 0.7, self.freq, self.LENGTH)
        self.spectrum = self.pulse.spectrum * np.exp(-1j * self.omega * 1e-6)
        rng = np.random.default_rng(1)
        self.wall = []
        for _ in range(10):
            self.wall += [(4.65e6, int(rng.integers(160, 180))),
                          (3.0e6, int(rng.integers(2, 6)))]
        self.wall += [(7.0e6, 900)]          # a stiff sleeve

    def layers(self):
        """The same wall with thickness and an arbitrary velocity."""
        return [Layer(n * self.STEP * 2000.0, z, 2000.0) for z, n in self.wall]

    def compare(self, expected, got, limit):
        worst = np.abs(expected - got).max() / np.abs(expected).max()
        self.assertLess(worst, limit)

    def test_wall(self):
        for below in (ly.AIR, ly.WATER):
            got = fdtd_sim.reflected(3.0e6, self.wall, below,
                                     np.fft.irfft(self.spectrum, self.LENGTH))
            gamma = ly.reflection(self.layers(), 3.0e6, below, self.omega, 1e6)
            expected = np.fft.irfft(self.spectrum * gamma, self.LENGTH)
            self.compare(expected[:len(got)], got, 1e-4)

    def test_delay_line_and_its_repeats(self):
        """Seen through the probe's face, with its reflection coefficient r."""
        r, steps = 0.3, 1000
        probe = 3.0e6 * (1 + r) / (1 - r)
        wave = np.fft.irfft(self.spectrum, self.LENGTH)
        got = fdtd_sim.reflected(probe, [(3.0e6, steps), *self.wall], ly.AIR, wave)
        got = (got + r * wave[:len(got)]) / (1 - r * r)
        gamma = ly.reflection(self.layers(), 3.0e6, ly.AIR, self.omega, 1e6)
        line = ly.DelayLine(3.0e6, 2 * steps * self.STEP, 0.01, 0.0, r)
        spectrum = ly.chain(gamma, self.pulse._replace(spectrum=self.spectrum), line,
                            self.omega, 1e6)
        self.compare(np.fft.irfft(spectrum, self.LENGTH)[:len(got)], got, 1e-3)


class Loss(unittest.TestCase):
    """A matched lossy layer: amplitude and phase by hand."""

    def test_attenuation_and_dispersion(self):
        omega0 = 2 * np.pi * 10e6
        omega = omega0 * np.array([0.5, 1.0, 2.0])
        a = ly.loss_from_db(0.1)
        t = ly.transmission([Layer(4e-3, 4.65e6, 2950.0, a)], 4.65e6, omega, omega0)
        # 0.1 dB/mm/MHz over 4 mm at 5, 10, 20 MHz: 2, 4, 8 dB.
        np.testing.assert_allclose(-20 * np.log10(np.abs(t)), [2, 4, 8], rtol=1e-9)
        # Causality makes an attenuating medium faster at higher frequencies.
        c = [wi / ly.wavenumber(wi, 2950.0, a, omega0).real for wi in omega]
        self.assertLess(c[0], c[1])
        self.assertLess(c[1], c[2])
        self.assertAlmostEqual(c[1], 2950.0)


class Pulses(unittest.TestCase):
    """A probe has the bandwidth that it is said to have."""

    def test_bandwidth(self):
        freq = ly.frequencies()
        for kind in ("gauss", "gamma", "resonator"):
            for wanted in (0.45, 0.8):
                p = ly.make_pulse(kind, 10e6, wanted, 1.0, freq)
                self.assertAlmostEqual(p.bandwidth, wanted, delta=0.05, msg=kind)
                self.assertAlmostEqual(p.centre_hz / 10e6, 1.0, delta=0.03, msg=kind)


class Traces(unittest.TestCase):
    """The traces are what their truth says."""

    def test_every_class(self):
        for name, build in [(n, b) for n, s in SETS.items() for b, _ in s.classes]:
            truth, trace, pulse = make_trace(7, 1, 40.0, name, only=build.__name__)
            self.assertEqual(len(trace), ly.SAMPLES)
            self.assertLessEqual(np.abs(trace).max(), 1.0)
            steps = trace * 2048
            np.testing.assert_array_equal(steps, np.round(steps))
            self.assertGreater(np.abs(pulse).max(), 0.7)
            self.assertLess(abs(truth["velocity_m_s"] - truth["true_velocity_m_s"]), 31)

    def test_contact_has_no_interface_echo(self):
        opt = parser().parse_args(["--contact"])
        truth, trace, _ = make_trace(7, 1, 40.0, opt=opt, only="sound")
        t = np.arange(len(trace)) / 100.0
        back = truth["zero_us"] + 2e3 * truth["thickness_mm"] / truth["true_velocity_m_s"]
        inner = np.abs(trace[(t > 0.9) & (t < back - 0.2)]).max()
        self.assertGreater(np.abs(trace[np.abs(t - back) < 0.2]).max(), 5 * inner)

    def test_bound_of_a_plate(self):
        """Separate echoes of known shape: a weighted straight line by hand.

        Echo n, of amplitude A_n, comes at start + n transit with a variance of
        s^2 / (A_n^2 sum p'^2); amplitudes do not bear on times.
        """
        for i in range(1, 6):
            truth, _, pulse = make_trace(7, i, 40.0, "plate")
            omega = 2 * np.pi * ly.frequencies(len(pulse))
            slope = np.fft.irfft(1j * omega * np.fft.rfft(pulse))
            r = truth["front_reflection"]
            n = np.arange(6)
            w = np.where(n == 0, r, (1 - r * r) * r ** (n - 1.0)) ** 2
            s = [np.sum(w * n ** k) for k in range(3)]
            transit = truth["noise"] / np.sqrt(np.sum(slope ** 2)
                                               * (s[2] - s[1] ** 2 / s[0]))
            um = 0.5e6 * truth["true_velocity_m_s"] * transit
            self.assertAlmostEqual(truth["bound_um"] / um, 1.0, delta=0.02)

    def test_same_seed_same_trace(self):
        a = make_trace(3, 5, 40.0)[1]
        np.testing.assert_array_equal(a, make_trace(3, 5, 40.0)[1])
        self.assertFalse(np.array_equal(a, make_trace(4, 5, 40.0)[1]))


if __name__ == "__main__":
    unittest.main()
