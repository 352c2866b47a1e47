"""From eye position to slow-phase velocity and quick-phase events."""
