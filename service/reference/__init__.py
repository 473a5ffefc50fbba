"""What laws, standards and practice say, as tables of plain data with a source and a status in every row."""
