"""The cases, by name."""

import hostile_other
import hostile_parts
import hostile_seldom
import hostile_still

NAMES = """
    noise_only constant drift_only one_edge one_pulse silent_low silent_high silent_gate silent_sense starts_within
    starts_late bursts gap alternating clipped_told clipped_untold wandering undersampled in_step alias alias_ripple
    extremes hum ringing_hard noisy_ramp spiked_ramp few_ripples still_rails""".split()
MODULES = (hostile_still, hostile_parts, hostile_seldom, hostile_other)
CASES = {name.replace("_", "-"): next(getattr(m, name) for m in MODULES if hasattr(m, name)) for name in NAMES}
