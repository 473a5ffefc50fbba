"""A simulation: sites whose devices go off line, repeat, reorder, count anew and have wrong clocks, and the truth.

Nothing here imports the service. It is posted to and asked over HTTP as everybody does, and judged by a plain model of
the messages (`truth`, with its readings), never by the service's own code.

    story(scale, now)            all messages, when they go out, and what is true of every unit at any moment
    simulate(story, address, keys, progress, seconds=..., alone=...)   sends it, asks, and says what differs

**The way.** `world` and `day` let days go by in true time and write a book, with what the demo has for that. `devices`
number what they are told and stamp it by their clocks; `rounds` say when each has a line. `site_app` sends over `wire`
until all is acknowledged, `journal` keeps what it was told, `delivery` lets all of them go at it. `checks` ask the
service in the end, `outcome` sums up.
"""
