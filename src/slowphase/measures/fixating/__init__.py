"""What an eye does that should rest: square-wave jerks, and waveforms of another kind."""
