"""The demo: a year of an invented group of workshops, told in messages.

The Varrowby group, its sites, people, makers, models, items and numbers are invented. Nothing here imports the
service; it speaks to it as everybody does, through `POST /v1/events`.

    scenario(end, seed)  all messages in the order of their arrival, and what they are meant to come to
    load(base_url, keys, progress)  plays the scenario up to now and posts it; post_story() posts one played already
    reread(base_url, keys, posted)  asks the summaries saved meanwhile again, and names those that read otherwise

**What it holds.** Ten sites in two jurisdictions and five time zones, 400 units and headtops of six models, some 60,000
messages over the twelve months up to `end`: checks on working days, issues and returns, examinations (some late, some
forgotten), failures, repairs, releases, filters with their lots, cleaning, loans, losses, recalls, stock and orders,
training and fit tests, corrections. The same seed and end give the same bytes.

**How it travels.** The year lies in the past when it is loaded. All but the last three days are an import
(`Prefer: import`) by the administrator's key: the device and its counter stay in each message, but no clock is stated,
and nothing is suspect for being late. Reference data comes first; what changed within the year says from when, as a
correction with its reason. The last three days are posted by each site's own key, by the site leads' and the
manager's, and state each device's clock as it is at that moment. Devices that were without a line deliver late and all
at once; one drifts, one lost an hour, one lost three days, one runs slow to the end. Some messages come twice, some
cannot be accepted, and one set of papers comes after the unit it is about.

**How it ends.** Sixty days before the end some units are given a fate (fates.py) and chance leaves them alone;
`Truth` names them, with the units that hold the lot worth a recall. The lot is left for the reader to recall.

**The rooms.** Tables: sites, models, items, instruments, policies, tasks, fleet, fates. The world: dice, book, world,
plant, unit, shelf. The year: year.py and one file for each thing that happens in a day. The way out: post.py (with
clocks, offline, slips), batches, wire, load.
"""
