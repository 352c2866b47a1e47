"""Follow-up: several sessions of one patient, what changed between them, and how sure that is."""
