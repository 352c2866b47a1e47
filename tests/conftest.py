"""Being here, this file puts the tests' own modules (``scenarios``) on the import path."""
