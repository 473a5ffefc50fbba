"""An example of an ERP: it approves, orders and receives consumables by webhooks and a look every minute."""

import argparse
import threading
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

from books import Books
from desk import Desk
from doors import RefusedError, Service
from hooks import receiver

KINDS = [
    *("stock-counted", "stock-received", "stock-moved", "stock-discarded", "filter-replaced", "part-replaced"),
    *("reorder-approved", "order-placed", "order-cancelled"),
]
"""What bears on stock and orders."""
MINUTE = 60.0


def main() -> None:
    """Serve webhooks, and look whenever one came, or a minute has passed."""
    options = asked()
    books, changed = Books(options.books), threading.Event()
    service = Service(options.service, options.integrator)
    manager = None if options.manager is None else Service(options.service, options.manager)
    door = receiver(("127.0.0.1", options.port), lambda: _secret(books), lambda _: changed.set())
    threading.Thread(target=door.serve_forever, daemon=True).start()
    say(f"takes webhooks at port {options.port}")
    desk = Desk(service, manager, books, options.most, say)
    while True:
        changed.clear()
        attempt(lambda: _hooked(service, books, options.port))
        attempt(desk.look)
        changed.wait(options.every)


def attempt(step: Callable[[], None]) -> None:
    """Do something that is done again the next time: what it fails at is told, and ends nothing."""
    try:
        step()
    except RefusedError as error:
        say(f"refused: {error}")
    except OSError as error:
        say(f"the service is away: {error}")


def _hooked(service: Service, books: Books, port: int) -> None:
    """Make a webhook, if there is none."""
    if books.webhook() is None:
        made = service.make_webhook(f"http://127.0.0.1:{port}/", KINDS)
        books.keep_webhook(made["webhook"], made["secret"])


def say(what: str) -> None:
    """Tell a person what was done."""
    print(what, flush=True)


def _secret(books: Books) -> str | None:
    known = books.webhook()
    return None if known is None else known[1]


def asked() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python deploy/examples/erp", description=__doc__)
    parser.add_argument("--service", required=True, help="address of the service")
    parser.add_argument("--integrator", required=True, help="key of an integrator: places orders, receives")
    parser.add_argument("--manager", help="key of a manager: approves; without one a person does")
    parser.add_argument("--books", type=Path, required=True, help="file that the orders are kept in")
    parser.add_argument("--port", type=int, default=9040, help="port that webhooks come to")
    parser.add_argument("--most", type=Decimal, default=Decimal(500), help="amount up to which it approves by itself")
    parser.add_argument("--every", type=float, default=MINUTE, help="seconds after which it looks without being told")
    return parser.parse_args()


if __name__ == "__main__":
    main()
