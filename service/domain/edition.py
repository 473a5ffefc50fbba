"""The edition of the meaning that this code gives to events; a change of it makes a rebuild due."""

MEANING = "30"
