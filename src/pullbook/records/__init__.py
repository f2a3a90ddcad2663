"""One frozen record per state of the data, from the file's table to the session's result."""
