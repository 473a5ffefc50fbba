"""The doors: routes, and what is the same behind all of them. Handlers translate and decide nothing."""
