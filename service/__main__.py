"""Start the program with `python3 -m service`, also where nothing is installed yet.

This file says which Python it needs, so even an old one has to be able to read it.
"""

import sys

if sys.version_info < (3, 11):  # noqa: UP036 - the very Python that is too old has to be told
    sys.exit("respirator-ledger needs Python 3.11 or newer; this is %d.%d." % sys.version_info[:2])  # noqa: UP031 - old

from service.bootstrap import enter

if __name__ == "__main__":
    enter(sys.argv[1:])

    from service.commands import main

    sys.exit(main(sys.argv[1:]))
