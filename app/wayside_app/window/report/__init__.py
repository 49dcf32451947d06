"""Reports, worksheets and tables of numbers, written in the background."""
