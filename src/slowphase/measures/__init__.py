"""What one trial, or a pair of trials, says about the reflex."""
