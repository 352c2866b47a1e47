"""What every layer may use: errors, problems, measures' reasons, array types."""
