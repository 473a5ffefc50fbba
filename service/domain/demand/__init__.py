"""Demand: how much of an item a site will use, and what is to be ordered for it.

From use: `series` (what was used, by period), `pattern` (its class), `rates` (forecasts), `spread` (how far they
missed), `back_test` and `choosing` (which of them, and its error), `forecast` (demand over any number of days). From
condition: `changes` (when what is fitted will be changed) and `foretold` (how many of them). Both together: `outlook`.
What follows for the stock: `counts` (chances; `widely` and `gamma` where they spread far), `lead_time`, `levels`,
`shelf_life`, `quantity`, and all in `reorder`.
Quantities are in the item's unit. Pure Python: the process that serves imports no library of statistics.
"""
