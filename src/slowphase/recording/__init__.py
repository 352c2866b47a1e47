"""What was recorded: sessions, trials, samples, units, signs and clocks."""
