"""How loud a sample is, and making samples equally loud.

ITU-R BS.1770: a shelf for the head, a high-pass, then the mean square. The two filters are
given by their analogue corner frequencies and qualities, which reproduce the table that the
recommendation prints for 48 kHz and hold for any rate (B. De Man, Evaluation of implementations
of the EBU R128 loudness measurement, AES Convention 145, 2018).
"""

from sounds.exact import Wave, from_decibels, power, root, sine_of
from sounds.filters import Biquad, filtered, high_pass

ATTACK_SECONDS = 0.4
"""The gating block of BS.1770: about as long as a quarter note of a medium blues."""

SHELF_HERTZ, SHELF_QUALITY, SHELF_DECIBELS = 1681.974450955533, 0.7071752369554196, 3.999843853973
SHELF_MIDDLE = 0.4996667741545416
"""The gain at the corner of the shelf, as a share of its decibels."""

EDGE_HERTZ, EDGE_QUALITY = 38.13547087602444, 0.5003270373238773


def loudness_power(wave: Wave, rate: int) -> float:
    """The K-weighted mean square of the first ATTACK_SECONDS; a shorter wave rings out silent."""
    count = round(ATTACK_SECONDS * rate)
    head = wave[:count]
    edge = high_pass(EDGE_HERTZ, rate, EDGE_QUALITY)
    return power(filtered(head, head_shelf(rate), edge)) * len(head) / count


def head_shelf(rate: int) -> Biquad:
    """The first filter of K-weighting."""
    turn = SHELF_HERTZ / rate / 2
    slope = sine_of(turn) / sine_of(turn + 0.25)  # the tangent
    square, width = slope * slope, slope / SHELF_QUALITY
    high = from_decibels(SHELF_DECIBELS)
    middle = from_decibels(SHELF_DECIBELS * SHELF_MIDDLE)
    a0 = 1 + width + square
    return Biquad(
        (high + middle * width + square) / a0,
        2 * (square - high) / a0,
        (high - middle * width + square) / a0,
        2 * (square - 1) / a0,
        (1 - width + square) / a0,
    )


def levelled(wave: Wave, rate: int, decibels: float) -> Wave:
    """`wave` scaled to a K-weighted level of `decibels` under full scale."""
    return wave * (from_decibels(decibels) / root(loudness_power(wave, rate)))
