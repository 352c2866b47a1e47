"""Documentation, and what makes its generated parts."""
