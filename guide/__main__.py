"""`python -m guide`."""

from guide.cli import main

if __name__ == "__main__":
    main()
