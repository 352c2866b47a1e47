"""``python -m slowphase`` is the command line."""

from slowphase.cli.app import main

if __name__ == "__main__":
    main()
