"""Pages for people: HTML without scripts, links to nowhere else, and nothing that has to be fetched."""
