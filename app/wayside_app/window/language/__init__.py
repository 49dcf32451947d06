"""Other languages: one flat dictionary each, looked up by the English text."""
