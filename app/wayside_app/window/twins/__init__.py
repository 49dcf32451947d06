"""The numbers behind every plot, as a table to read, copy and save."""
