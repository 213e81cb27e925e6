"""`python -m drillgen` is the command line."""

from drillgen.cli import main

if __name__ == "__main__":
    main()
