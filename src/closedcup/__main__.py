"""`python -m closedcup` is the command `closedcup`."""

from closedcup.app.entry import main

if __name__ == "__main__":
    main()
