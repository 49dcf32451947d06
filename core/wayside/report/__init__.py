"""Reports, worksheets and tables of numbers from one pass-by or a class's many."""
