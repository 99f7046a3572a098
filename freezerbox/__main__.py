"""The program: ``freezerbox``, or ``python -m freezerbox``."""

import sys


def main() -> None:
    """The installed program; stopped while it still starts, it says so as it does later."""
    try:
        from freezerbox.cli.main import main as begin
    except KeyboardInterrupt:
        print("\nStopped. Nothing was done.", file=sys.stderr)
        sys.exit(130)  # what a shell says of a program that Ctrl-C ended
    begin()


if __name__ == "__main__":
    main()
