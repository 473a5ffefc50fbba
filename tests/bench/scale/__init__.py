"""The data of the benchmark at any size, and the bulk path that puts it into a database."""
