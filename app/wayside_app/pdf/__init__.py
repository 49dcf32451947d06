"""Reports as PDF: the same blocks as the web page, set by Qt's text layout."""
