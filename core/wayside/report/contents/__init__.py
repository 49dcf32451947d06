"""The contents of a report and of a worksheet, section by section."""
