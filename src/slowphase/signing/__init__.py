"""A signed reading: what the signer decided, the frozen record, and the chain of versions."""
