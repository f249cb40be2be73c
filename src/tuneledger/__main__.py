"""`python -m tuneledger`: the same as the command."""

from tuneledger.cli.main import main

if __name__ == "__main__":
    main()
