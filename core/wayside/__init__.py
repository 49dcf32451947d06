"""Wayside core: the Doppler effect of a pass-by, predicted, measured and compared.

No Qt here. Importing this package loads nothing heavy; import the submodule you need.
"""

__version__ = "0.1.0"
