"""``python -m freezerbox``."""

from freezerbox.cli.main import main

if __name__ == "__main__":
    main()
