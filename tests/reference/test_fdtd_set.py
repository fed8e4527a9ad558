#!/usr/bin/python3
"""Checks of the second simulator: against the first one, and against its own promises."""

import unittest

import numpy as np

import fdtd_lossy as fd
import fdtd_set
import fdtd_walls
import layered as ly

CENTRE = 10e6
OMEGA0 = 2 * np.pi * CENTRE


class Loss(unittest.TestCase):
    """Memory elements stand for a loss linear in frequency, and its dispersion."""
    HZ = np.array([1.5, 3, 5, 8, 10, 15, 20, 25]) * 1e6

    def test_linear(self):
        for loss in (0.05, 0.15):
            k = fd.wavenumber(fd.solid(4.65e6, 2950.0, loss, CENTRE), self.HZ)
            np.testing.assert_allclose(-k.imag * fd.DB / 1e3 / (self.HZ / 1e6), loss, rtol=0.04)
            log_law = ly.wavenumber(2 * np.pi * self.HZ, 2950.0, ly.loss_from_db(loss), OMEGA0)
            np.testing.assert_allclose(k.real, log_law.real, rtol=5e-4)

    def test_waves_lose_it(self):
        """What a matched layer lets through, marched, has the loss and time of its law."""
        loss, depth = 0.1, 3e-3
        s = fd.solid(4.65e6, 2950.0, loss, CENTRE)
        gone = fd.march([fd.Stack(s.impedance, [fd.Slab(depth, s)], s.impedance)], 2400)[1]
        through = fdtd_set.transfer(gone, 2400)[0] * s.impedance
        use = (fdtd_set.HZ > 2e6) & (fdtd_set.HZ < 20e6)
        k = fd.wavenumber(s, fdtd_set.HZ[use])
        np.testing.assert_allclose(through[use], np.exp(-1j * k * depth), atol=0.01)


class AgainstTransferMatrices(unittest.TestCase):
    """Walls with films of micrometres, by both methods.

    The films lie within cells; they are off by up to a micrometre, of 300 of a wave.
    """

    def wall(self):
        rng = np.random.default_rng(5)
        for _ in range(12):
            yield rng.normal(0.2e-3, 6e-6), 4.65e6, 2950.0, 0.1
            yield rng.uniform(2e-6, 6e-6), 3.0e6, 2500.0, 0.3
        yield 30e-6, 2.6e6, 2300.0, 0.4
        yield 0.8e-3, 5.4e6, 2800.0, 0.12

    def test_walls(self):
        walls = list(self.wall())
        slabs = [fd.Slab(h, fd.solid(z, c, a, CENTRE)) for h, z, c, a in walls]
        layers = [ly.Layer(h, z, c, ly.loss_from_db(a)) for h, z, c, a in walls]
        steps = 6000
        stacks = [fd.Stack(3e6, slabs), fd.Stack(3e6, slabs, ly.WATER),
                  fd.Stack(3e6, slabs[:9])]
        got = fdtd_set.transfer(fd.march(stacks, steps)[0], steps)
        omega = 2 * np.pi * fdtd_set.HZ
        pulse = ly.make_pulse("gamma", CENTRE, 0.6, 0.3, fdtd_set.HZ, fdtd_set.LENGTH)
        for mine, part, below in zip(got, (layers, layers, layers[:9]),
                                     (ly.AIR, ly.WATER, ly.AIR)):
            gamma = ly.reflection(part, 3e6, below, omega, OMEGA0)
            a, b = (np.fft.irfft(g * pulse.spectrum * np.exp(-1j * omega * 1e-6))[:steps]
                    for g in (mine, gamma))
            self.assertLess(np.abs(a - b).max(), 0.02 * np.abs(b).max())

    def test_echo_of_a_free_face(self):
        """Reflection -1 at a free face, by hand."""
        s = fd.solid(3e6, 2500.0, 0.0, CENTRE)
        back = fd.march([fd.Stack(3e6, [fd.Slab(1e-3, s)])], 1000)[0][0]
        self.assertAlmostEqual(back.min(), -1.0, delta=1e-3)
        at = np.sum(np.arange(1000) * back) / back.sum() * fd.STEP - 6 * fd.SPIKE
        self.assertAlmostEqual(at, 2e-3 / 2500.0, delta=1e-10)


class Traces(unittest.TestCase):
    """Every class, and what its user is told."""

    def test_every_class(self):
        for name, (_, _, _, _, classes) in fdtd_walls.SETS.items():
            drafts = [fdtd_set.draft(3, i, name, c.__name__) for i, (c, _) in enumerate(classes)]
            for d, (truth, trace, pulse, _, _) in zip(drafts, fdtd_set.make(drafts, 40.0)):
                total = max(sum(s.thickness for s in slabs) for _, slabs in d.wall.shares)
                if d.wall.coupled and not d.wall.cover == 1.0:
                    coat = 0.0 if np.isnan(d.wall.coat) else d.wall.coat
                    self.assertAlmostEqual(total - coat, d.wall.thickness, delta=1e-9)
                self.assertAlmostEqual(sum(share for share, _ in d.wall.shares), 1.0
                                       if d.wall.cover != 1.0 else d.wall.shares[0][0])
                self.assertEqual((len(trace), len(pulse)), (2048, 2048))
                np.testing.assert_array_equal(trace * 2048, np.round(trace * 2048))
                self.assertTrue(0.45 <= truth["bandwidth"] <= 0.8)
                self.assertTrue(2700 < truth["true_velocity_m_s"] < 3150, truth)
                self.assertTrue(0.03 < truth["true_attenuation_db_mm_mhz"] < 0.2, truth)

    def test_back_wall_comes_when_the_truth_says(self):
        """The back-wall echo's envelope peak, at twice the thickness over the velocity."""
        def crest(spectrum, after):
            both = np.zeros(fdtd_set.LENGTH, complex)
            both[:len(spectrum)] = spectrum * np.exp(-fdtd_set.JW * 2e-6)
            t = np.arange(len(both)) * fd.STEP - 2e-6
            return t[np.argmax(np.abs(np.fft.ifft(both)) * (t > after))]
        drafts = [fdtd_set.draft(4, i, "plain", "sound") for i in range(12)]
        for d, (gamma, velocity, _) in zip(drafts, fdtd_set.respond(drafts)):
            wanted = 2 * d.wall.thickness / velocity
            got = (crest(d.probe.spectrum * gamma, 0.6 * wanted)
                   - crest(d.probe.spectrum, -1e-6))
            self.assertAlmostEqual(got, wanted, delta=40e-9)


if __name__ == "__main__":
    unittest.main()
