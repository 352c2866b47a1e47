"""Thresholds of the calorics, with unit, default and why."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CaloricSettings:
    """Limits of one irrigation and of four together."""

    # The curve of one irrigation.

    knot_s: float = 7.0
    """Distance of the curve's knots (s): heat needs tens of seconds to come and go, the eye wanders
    within a few."""
    bend_share: float = 0.12
    """Prior SD of the curve's bend from knot to knot, as a share of the roughly read peak: a
    quarter more than a response needs that rises and falls within half a minute each."""
    bend_min_deg_s: float = 0.6
    """The least of that SD (deg/s): a small response may bend, too."""
    warming_s: float = 3.0
    """Time (s) from the start of the irrigation in which no heat has reached the canal yet: it
    still belongs to the spontaneous nystagmus (common practice, no source)."""
    before_min_s: float = 3.0
    """Least slow phase (s) before that moment from which the spontaneous nystagmus is read."""
    rough_block_s: float = 10.0
    """Block (s) in which the peak is read roughly, for the prior alone."""

    # Culmination.

    culmination_s: float = 10.0
    """Length (s) of the culmination: the strongest ten seconds (common practice, no source)."""
    culmination_seen_s: float = 3.0
    """Least slow phase (s), seen without fixation, in those ten seconds: less is a guess from the
    neighbourhood."""
    response_sd: float = 3.5
    """Multiples of its standard error that a response must exceed to exist: the strongest of many
    stretches is looked at."""
    premature_peak_s: float = 20.0
    """Culmination earlier than this after the start of the irrigation (s) is premature: heat takes
    longer through an intact ear drum (common practice, no source)."""
    reversal_within_s: float = 140.0
    """Reversal of the response within this time of the start (s) is premature (from memory,
    unverified)."""
    reversal_min_deg_s: float = 2.0
    """Smallest mean speed (deg/s) over ten seconds of such a reversal, its interval included."""
    duration_share: float = 0.1
    """Share of the culmination below which the response has ended."""

    # Fixation.

    fixation_settles_s: float = 1.5
    """Time (s) after the target comes or goes in which its effect is neither there nor gone."""
    factor: float = 0.5
    """Centre of the prior on what fixation leaves (a ratio): about half in the healthy."""
    factor_sd: float = 1.0
    """Its SD: from a full reversal to a doubling, so that any usual recording decides."""
    fixation_seen_s: float = 2.0
    """Least slow phase (s) during fixation."""
    fixation_min_deg_s: float = 5.0
    """Slow-phase speed (deg/s) without fixation under which the fixation index is withheld: it
    would be a ratio of noise."""
    fixation_early_s: float = 5.0
    """A target that comes earlier than this after the middle of the culmination (s) cuts it
    short: half of its ten seconds."""

    # Irrigations together.

    body_c: float = 37.0
    """Temperature of the body (°C), from which warm and cool count."""
    neutral_c: float = 2.0
    """Distance from it (°C) up to which an irrigation is neither warm nor cool."""
    temperature_alike_c: float = 2.0
    """Largest difference (°C) between the right and the left ear's irrigation of one temperature:
    the response grows with the difference from the body, and 2 of 7 °C would look like a weakness
    of 14 %."""
    length_alike_share: float = 0.25
    """Largest difference of the lengths of the irrigations, as a share of the longer."""
    ear_min_deg_s: float = 6.0
    """Sum of an ear's warm and cool response (deg/s) under which, in both ears, ratios are
    withheld: the limit of bilateral vestibulopathy (Strupp et al. 2017, abstract read)."""
    repeats_apart: float = 3.0
    """Standard errors by which two irrigations of one ear and temperature must differ to be said
    to disagree, beside ``repeats_apart_share``."""
    repeats_apart_share: float = 0.3
    """Difference of two such irrigations as a share of the larger: less is ordinary (chosen)."""
    typed_max_deg_s: float = 200.0
    """Largest slow-phase speed (deg/s) that is believed of a typed peak: no caloric response comes
    near, a wrong unit or a slip of the key does."""
    typed_index_max: float = 3.0
    """Largest typed fixation index (a ratio) that is believed: 40 would be percent."""
    rough_deg_s: float = 1.0
    """Standard error of a peak (deg/s) beyond which it is known roughly."""
    rough_pct: float = 5.0
    """Standard error of a weakness or preponderance (points) beyond which it is known roughly: the
    95 % interval is then wider than 10 points to either side."""
