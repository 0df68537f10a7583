"""The zero-lag filter against Winter's formula and the analogue Butterworth.

Winter, D. A. (2009), Biomechanics and Motor Control of Human Movement, 4th ed., section 3.4.4. The correction factor is
quoted in public teaching material; that it belongs to the tangent of the digital frequency is quoted from memory and
confirmed here by the gain at the cut-off. Tolerances come from the last printed digit.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import butter, freqz

from cuebook.motion.filtering import design_cutoff_hz, lowpass, pass_correction, second_order_lowpass


@pytest.mark.parametrize(("passes", "factor"), [(1, 1.0), (2, 0.8022432629), (3, 0.7140199777)])
def test_factor_per_number_of_passes_c7(passes: int, factor: float) -> None:
    assert pass_correction(passes) == pytest.approx(factor, abs=5e-11)


@pytest.mark.parametrize(
    ("passes", "a0", "a1", "b1", "b2"),
    [
        (1, 0.067455274, 0.134910548, 1.142980503, -0.412801598),
        (2, 0.094446744, 0.188893488, 0.962641309, -0.340428284),
    ],
    ids=["C8", "C9"],
)
def test_coefficients_at_ten_samples_per_cycle(passes: int, a0: float, a1: float, b1: float, b2: float) -> None:
    numerator, denominator = second_order_lowpass(10.0, 100.0, passes=passes)
    assert numerator == pytest.approx([a0, a1, a0], abs=1e-9)
    # Winter adds the feedback, so his b1 and b2 have the opposite sign
    assert denominator == pytest.approx([1.0, -b1, -b2], abs=1e-9)


def test_one_pass_is_the_library_filter_c8() -> None:
    numerator, denominator = second_order_lowpass(10.0, 100.0, passes=1)
    expected = butter(2, 0.2)
    assert numerator == pytest.approx(expected[0], abs=1e-12)
    assert denominator == pytest.approx(expected[1], abs=1e-12)


TABLE = [(30, 6, 7.0275), (30, 4, 4.8382), (30, 3, 3.6748), (30, 2, 2.4733), (60, 6, 7.3495), (100, 6, 7.4309)]


@pytest.mark.parametrize(("rate", "cutoff", "design"), TABLE, ids=["C1", "C2", "C3", "C4", "C5", "C6"])
def test_design_cutoff_and_its_gain_after_both_passes(rate: float, cutoff: float, design: float) -> None:
    assert design_cutoff_hz(cutoff, rate) == pytest.approx(design, abs=5e-5)
    _, once = freqz(*second_order_lowpass(cutoff, rate), worN=[2 * np.pi * cutoff / rate])
    assert abs(once[0]) ** 2 == pytest.approx(0.7071, abs=5e-5)
    expected = butter(2, design_cutoff_hz(cutoff, rate), fs=rate)
    for ours, theirs in zip(second_order_lowpass(cutoff, rate), expected, strict=True):
        assert ours == pytest.approx(theirs, abs=1e-12)


@pytest.mark.parametrize(
    ("rate", "cutoff", "gain"),
    [(30, 6, 0.7791), (30, 4, 0.7361), (30, 3, 0.7229), (30, 2, 0.7139), (60, 6, 0.7229), (100, 6, 0.7126)],
)
def test_dividing_the_frequency_instead_would_pass_too_much(rate: float, cutoff: float, gain: float) -> None:
    numerator, denominator = second_order_lowpass(cutoff / pass_correction(2), rate, passes=1)
    _, once = freqz(numerator, denominator, worN=[2 * np.pi * cutoff / rate])
    assert abs(once[0]) ** 2 == pytest.approx(gain, abs=5e-5)
    assert design_cutoff_hz(cutoff, rate) < cutoff / pass_correction(2)


C10 = [(0.25, 0.99838), (0.5, 0.97476), (0.75, 0.88413), (1.0, 0.70711), (1.5, 0.32290), (2.0, 0.13111)]


@pytest.mark.parametrize(("ratio", "gain"), C10)
def test_amplitude_that_a_movement_keeps_c10(ratio: float, gain: float) -> None:
    rate, cutoff = 2000.0, 6.0  # far above the movement, where the digital filter equals the analogue one
    times = np.arange(0.0, 8.0, 1.0 / rate)
    wave = np.sin(2 * np.pi * ratio * cutoff * times)
    inner = slice(len(times) // 4, 3 * len(times) // 4)
    kept = lowpass(times, wave, cutoff)[inner]
    assert np.sqrt(2.0) * kept.std() == pytest.approx(gain, abs=3e-4)
    # nothing is delayed: the filtered wave lies on the raw one
    assert np.corrcoef(kept, wave[inner])[0, 1] == pytest.approx(1.0, abs=1e-6)
