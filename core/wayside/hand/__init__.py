"""Hand measurements and the prediction worked out from them."""
