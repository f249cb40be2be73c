"""`python -m tuneledger` is the same as `tuneledger`."""

from tuneledger.cli.main import main

main()
